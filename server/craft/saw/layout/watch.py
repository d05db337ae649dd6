"""The promised time: when to stop improving, and when to hand out whatever there is.

Work is counted, not timed, so that the same question has the same answer whatever else the machine
does. One unit of work is about a millisecond of a machine with nothing else to do. The clock is a
guard that a busy machine may run into.
"""

from collections.abc import Callable

GRACE_S = 0.4
"""Of the second that the answer may be late, what a first plan may take."""
_WORK_A_SECOND = 750.0
_KEPT_BACK = 0.06
"""Part of the time that is kept back for finishing the step under way."""


class Watch:
    """Work allowed, a clock counting seconds, a limit, and a hand that may stop the search."""

    def __init__(
        self, clock: Callable[[], float], limit_s: float, should_stop: Callable[[], bool] | None
    ) -> None:
        self._clock = clock
        self._start_s = clock()
        self._limit_s = limit_s
        self._should_stop = should_stop
        self.spent = 0.0

    def over(self) -> bool:
        """Whether to stop improving."""
        if self._should_stop is not None and self._should_stop():
            return True
        if self.spent >= self._limit_s * _WORK_A_SECOND:
            return True
        return self._clock() - self._start_s > self._limit_s * (1 - _KEPT_BACK)

    def late(self) -> bool:
        """Whether even the first plan has had its time."""
        if self.spent >= (self._limit_s + GRACE_S) * _WORK_A_SECOND:
            return True
        return self._clock() - self._start_s > self._limit_s + GRACE_S

    def left_s(self) -> float:
        """Seconds until it is late."""
        return max(0.0, self._start_s + self._limit_s + GRACE_S - self._clock())


class Meter:
    """The work spent on one wood, which counts against the watch of the whole question."""

    def __init__(self, watch: Watch) -> None:
        self._watch = watch
        self.spent = 0.0
        self.over = watch.over
        self.late = watch.late
        self.left_s = watch.left_s

    def spend(self, work: float) -> None:
        """Count work done."""
        self.spent += work
        self._watch.spent += work
