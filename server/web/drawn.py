"""Drawings worked out, kept for as long as they are worked on: a revision never changes."""

from server.craft.document import parse_piece
from server.craft.planned import Planned, work_out
from server.store.pieces import PieceRecord
from server.web.last_used import LastUsed

KEPT = 32


class DrawnPieces:
    """The newest drawings worked out, by piece and revision. Safe from several threads."""

    def __init__(self) -> None:
        self._kept = LastUsed[tuple[str, int], Planned](KEPT)

    def planned(self, record: PieceRecord) -> Planned:
        """The drawing of a kept piece worked out. Raises DocumentError where it cannot be read."""
        key = (record.id, record.revision)
        return self._kept.get(key, lambda: work_out(parse_piece(record.document)))
