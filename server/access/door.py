"""Letting the network in while the program runs, and shutting it out again if nobody came.

At its start the program answers this computer only. Opened here, it also answers at each private
address. That is kept for later starts once a device has come in; otherwise it ends by itself.
"""

import threading
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime, timedelta

from server.access.addresses import private_addresses
from server.access.pairing import Pairing
from server.store import marks
from server.store.database import Store

SHUT_UNLESS_USED_WITHIN = timedelta(minutes=5)
_KEPT = "kept"

Listen = Callable[[str], Callable[[], None]]
"""Answers at a further address and gives what ends that. Raises CannotOpen."""


class CannotOpen(Exception):  # noqa: N818
    """An address cannot be answered at; the message says why."""


class Door:
    """Whether tablets and phones are answered besides this computer. Safe from several threads."""

    def __init__(self, store: Store, pairing: Pairing, clock: Callable[[], datetime]) -> None:
        self._store, self._pairing, self._clock = store, pairing, clock
        self._lock = threading.Lock()
        self._listen: Listen | None = None
        self._ends: list[Callable[[], None]] = []
        self._opened_at: datetime | None = None
        self._timer: threading.Timer | None = None

    @property
    def is_open(self) -> bool:
        """Whether the network is answered through this door."""
        return bool(self._ends)

    @property
    def can_open(self) -> bool:
        """Whether there is a server that could answer at more addresses, and is asked to here."""
        return self._listen is not None and not self._ends

    @property
    def shut_at(self) -> datetime | None:
        """When it is shut again unless a device comes in before; None when it stays."""
        return None if self._opened_at is None else self._opened_at + SHUT_UNLESS_USED_WITHIN

    def attach(self, listen: Listen) -> None:
        """Say how to answer elsewhere; opens at once where that was kept."""
        self._listen = listen
        with self._store.read() as session:
            kept = marks.read_mark(session, marks.NETWORK)
        if kept == _KEPT:
            with self._lock:
                for address in private_addresses():
                    with suppress(CannotOpen):  # the others, and this computer, are answered
                        self._ends.append(listen(address))

    def open(self) -> None:
        """Answer the network, for now. Raises CannotOpen; nothing is open then."""
        with self._lock:
            if self._listen is None or self._ends:
                return
            try:
                for address in private_addresses():
                    self._ends.append(self._listen(address))
            except CannotOpen:
                self._end_all()
                raise
            self._opened_at = self._clock()
            self._timer = threading.Timer(SHUT_UNLESS_USED_WITHIN.total_seconds(), self.settle)
            self._timer.daemon = True
            self._timer.start()

    def shut(self) -> None:
        """Answer this computer only, also after the next start."""
        with self._lock:
            self._end_all()
        self._remember("")

    def settle(self) -> None:
        """Keep the door open if a device came in since it was opened, otherwise shut it."""
        with self._lock:
            opened_at, self._opened_at = self._opened_at, None
            if self._timer is not None:
                self._timer.cancel()
                self._timer = None
        if opened_at is None:
            return
        heard = self._pairing.heard_at
        if heard is not None and heard >= opened_at:
            self._remember(_KEPT)
        else:
            self.shut()

    def _remember(self, value: str) -> None:
        with self._store.write() as session:
            marks.set_mark(session, marks.NETWORK, value)

    def _end_all(self) -> None:
        for end in self._ends:
            end()
        self._ends, self._opened_at = [], None
