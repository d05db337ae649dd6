"""One program on one data folder: a lock that the system lets go of when the program ends."""

import os
import sys
from pathlib import Path

from server.store.errors import StoreRefused

LOCK_NAME = "ringwright.lock"


class SoleUse:
    """Holds the folder for this process. Raises StoreRefused when another holds it."""

    def __init__(self, folder: Path) -> None:
        self._descriptor: int | None = os.open(folder / LOCK_NAME, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            _lock(self._descriptor)
        except OSError as error:
            self.release()
            raise StoreRefused(
                f"Another Ringwright works with {folder} already. Use that one, or stop it first."
            ) from error

    def release(self) -> None:
        """Let go of the folder; more than once does no harm."""
        if self._descriptor is not None:
            os.close(self._descriptor)
            self._descriptor = None


def _lock(descriptor: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
