"""The keeper: a thread that makes the daily copy and notes that time has passed."""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from server.store import marks
from server.store.backup import (
    DUE_AFTER,
    LATE_AFTER,
    Backup,
    BackupFailed,
    back_up,
    list_backups,
    prune,
)
from server.store.database import Store
from server.store.errors import NotSaved

_FIRST_ROUND_AFTER_SECONDS = 60.0
_ROUND_EVERY_SECONDS = 300.0


@dataclass(frozen=True, slots=True)
class BackupState:
    """How the copies stand. `warning` is for the home page, None when all is well."""

    newest: Backup | None
    warning: str | None


class Keeper:
    """Looks after the copies of one database. `clock` gives the aware moment."""

    def __init__(self, store: Store, clock: Callable[[], datetime]) -> None:
        self._store = store
        self._clock = clock
        self._since = clock()
        self._failure: str | None = None
        self._stopping = threading.Event()
        self._one_at_a_time = threading.Lock()
        self._thread = threading.Thread(target=self._rounds, name="keeper", daemon=True)

    def start(self) -> None:
        """Begin the rounds."""
        self._thread.start()

    def stop(self) -> None:
        """End the rounds; waits for a copy that is being made."""
        self._stopping.set()
        if self._thread.is_alive():
            self._thread.join()

    def back_up(self, reason: str) -> Backup:
        """Make a copy now and clear away old ones. Raises BackupFailed."""
        with self._one_at_a_time:
            try:
                backup = back_up(self._store.path, self._clock(), reason)
            except BackupFailed as failure:
                self._failure = str(failure)
                raise
            self._failure = None
            prune(self._store.path, self._clock())
            return backup

    def state(self) -> BackupState:
        """The newest copy, and a warning when the last try failed or the copy is old."""
        newest = self.newest()
        if self._failure is not None:
            return BackupState(newest, self._failure)
        age = self._clock() - (newest.made_at if newest else self._since)
        if age > LATE_AFTER:
            return BackupState(newest, f"The newest copy of your pieces is {age.days} days old.")
        return BackupState(newest, None)

    def newest(self) -> Backup | None:
        """The newest copy."""
        return next(iter(list_backups(self._store.path)), None)

    def round(self) -> None:
        """One round: remark the time, and make the daily copy when it is due."""
        now = self._clock()
        try:
            with self._store.write() as session:
                marks.set_mark(session, marks.SEEN_AT, now.isoformat())
        except NotSaved as failure:
            self._failure = str(failure)
            return
        newest = self.newest()
        if newest is None or now - newest.made_at >= DUE_AFTER:
            try:
                self.back_up("daily")
            except BackupFailed:
                return  # remembered, and shown on the home page

    def _rounds(self) -> None:
        wait = _FIRST_ROUND_AFTER_SECONDS
        while not self._stopping.wait(wait):
            self.round()
            wait = _ROUND_EVERY_SECONDS
