"""What was made last, kept for as long as it is asked for among the others."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


def _always(_value: object) -> bool:
    return True


class LastUsed(Generic[K, V]):
    """The `most` things that were asked for last, by key. Safe from several threads."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._kept: OrderedDict[K, V] = OrderedDict()

    def get(self, key: K, make: Callable[[], V], still_good: Callable[[V], bool] = _always) -> V:
        """The thing kept under the key, or a new one; nobody waits while it is made."""
        with self._lock:
            found = self._kept.get(key)
            if found is not None and still_good(found):
                self._kept.move_to_end(key)
                return found
        made = make()
        with self._lock:
            self._kept[key] = made
            self._kept.move_to_end(key)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return made

    def clear(self) -> None:
        """Forget them all."""
        with self._lock:
            self._kept.clear()
