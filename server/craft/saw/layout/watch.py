"""The promised time: when to stop improving, and when to hand out whatever there is."""

from collections.abc import Callable

GRACE_S = 0.4
"""Of the second that the answer may be late, what a first plan may take."""
_KEPT_BACK = 0.06
"""Part of the time that is kept back for finishing the step under way."""


class Watch:
    """A clock counting seconds, a limit, and a hand that may stop the search."""

    def __init__(
        self, clock: Callable[[], float], limit_s: float, should_stop: Callable[[], bool] | None
    ) -> None:
        self._clock = clock
        self._start_s = clock()
        self._limit_s = limit_s
        self._should_stop = should_stop

    def over(self) -> bool:
        """Whether to stop improving."""
        if self._should_stop is not None and self._should_stop():
            return True
        return self._clock() - self._start_s > self._limit_s * (1 - _KEPT_BACK)

    def late(self) -> bool:
        """Whether even the first plan has had its time."""
        return self._clock() - self._start_s > self._limit_s + GRACE_S

    def left_s(self) -> float:
        """Seconds until it is over."""
        return max(0.0, self._start_s + self._limit_s * (1 - _KEPT_BACK) - self._clock())
