"""The sheet of a bench, drawn once for all the devices that ask for it in the same moment."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable

KEPT = 16


class Sheets:
    """The newest sheets by what they show. Twenty devices that ask at once wait for one drawing."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, bytes] = OrderedDict()
        self._drawing: dict[Hashable, threading.Lock] = {}

    def get(self, key: Hashable, draw: Callable[[], bytes]) -> bytes:
        """The sheet of that key, drawn by the first who asks."""
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                return found
            turn = self._drawing.setdefault(key, threading.Lock())
        with turn:
            with self._lock:
                found = self._kept.get(key)
            if found is None:
                found = draw()
                with self._lock:
                    self._kept[key] = found
                    while len(self._kept) > KEPT:
                        self._kept.popitem(last=False)
            with self._lock:
                self._drawing.pop(key, None)
        return found
