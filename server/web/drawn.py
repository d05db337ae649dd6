"""Drawings worked out, kept for as long as they are worked on: a revision never changes."""

from collections.abc import Hashable

from server.craft.document import parse_piece
from server.craft.lathe.steps import LatheShop, Step
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.planned import Planned, work_out
from server.store.pieces import PieceRecord
from server.web.last_used import LastUsed

KEPT = 32


class DrawnPieces:
    """The newest drawings worked out, by piece and revision. Safe from several threads."""

    def __init__(self) -> None:
        self._kept = LastUsed[tuple[str, int], Planned](KEPT)
        self._steps = LastUsed[Hashable, tuple[Step, ...]](KEPT)

    def planned(self, record: PieceRecord) -> Planned:
        """The drawing of a kept piece worked out. Raises DocumentError where it cannot be read."""
        key = (record.id, record.revision)
        return self._kept.get(key, lambda: work_out(parse_piece(record.document)))

    def steps(self, record: PieceRecord, shop: LatheShop) -> tuple[Step, ...]:
        """What is done at the lathe of that shop. Raises DocumentError as `planned` does."""
        hours = tuple(sorted(shop.cure_hours.items()))
        key = (record.id, record.revision, tuple(shop.jaws), hours)
        return self._steps.get(key, lambda: lathe_steps(self.planned(record).work, shop))
