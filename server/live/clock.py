"""The server's clock, watched. Timers stand on it, so it must never run backwards under them.

A small computer without a battery clock starts in the past; a person may set the time. Then the
program's time stands still at the last moment that it was sure of, and says so.
"""

import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

# Smaller steps are the clock being trimmed by the network, and harmless.
TOLERANCE = timedelta(seconds=5)
JUMP_WORTH_SAYING = timedelta(seconds=60)


def _wall() -> datetime:
    return datetime.now(UTC)


def _steady() -> float:
    """Seconds that only go forward, also while the computer sleeps where the system counts that."""
    boot = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if boot is None else time.clock_gettime(boot)


class Clock:
    """Call it for the moment, aware, UTC. `last_seen` is the newest moment known from before."""

    def __init__(
        self,
        last_seen: datetime | None = None,
        wall: Callable[[], datetime] = _wall,
        steady: Callable[[], float] = _steady,
    ) -> None:
        self._wall, self._steady = wall, steady
        self._lock = threading.Lock()
        self._sure_until = last_seen or wall()
        self._base_wall, self._base_steady = wall(), steady()
        self._jumped: timedelta | None = None

    def __call__(self) -> datetime:
        """The moment; while the wall clock is behind what was seen already, the last sure one."""
        wall = self._wall()
        with self._lock:
            self._watch_for_a_jump(wall)
            if wall < self._sure_until - TOLERANCE:
                return self._sure_until
            self._sure_until = max(self._sure_until, wall)
            return max(wall, self._sure_until)

    @property
    def behind_seconds(self) -> float:
        """By how much the clock is behind what was seen already; 0 when all is well."""
        behind = self._sure_until - self._wall()
        return behind.total_seconds() if behind > TOLERANCE else 0.0

    @property
    def held(self) -> bool:
        """Whether time stands still because the clock is behind."""
        return self.behind_seconds > 0

    def words(self) -> str | None:
        """What to tell the user about the clock; None when all is well."""
        wall = self._wall()
        if self.held:
            return (
                f"The server's clock says {wall:%d %b %Y %H:%M} UTC, but it was "
                f"{self._sure_until:%d %b %Y %H:%M} UTC already. Timers stand still until the "
                "clock is set right."
            )
        if self._jumped is not None:
            minutes = self._jumped.total_seconds() / 60
            return f"The server's clock jumped forward by {minutes:.0f} min. Check the timers."
        return None

    def believe(self) -> None:
        """The user says that the clock is right as it is."""
        with self._lock:
            self._sure_until = self._wall()
            self._base_wall, self._base_steady = self._wall(), self._steady()
            self._jumped = None

    def _watch_for_a_jump(self, wall: datetime) -> None:
        steady = self._steady()
        step = (wall - self._base_wall) - timedelta(seconds=steady - self._base_steady)
        self._base_wall, self._base_steady = wall, steady
        if step > JUMP_WORTH_SAYING:
            self._jumped = step
