"""Drawings worked out, kept for as long as they are worked on: a revision never changes."""

import threading
from collections import OrderedDict

from server.craft.document import parse_piece
from server.craft.planned import Planned, work_out
from server.store.pieces import PieceRecord

KEPT = 32


class DrawnPieces:
    """The newest drawings worked out, by piece and revision. Safe from several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[tuple[str, int], Planned] = OrderedDict()

    def planned(self, record: PieceRecord) -> Planned:
        """The drawing of a kept piece worked out. Raises DocumentError where it cannot be read."""
        key = (record.id, record.revision)
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
                return found
        made = work_out(parse_piece(record.document))
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return made
