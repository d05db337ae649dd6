"""The windows in which the person is in the shop, in whole ticks, and what fits into them."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

FAR = 1 << 60
"""Later than any time that can occur; adding a length to it still fits 64 bits."""


class Hours:
    """Windows sorted by opening, none inside another; `None` means always there from `start`.

    Windows that touch or overlap stay separate: a press must lie inside one of those given.
    Windows are cut off before `start`, and those shorter than `shortest` are left out.
    """

    def __init__(
        self, windows: Sequence[tuple[int, int]] | None, start: int, shortest: int = 0
    ) -> None:
        self.always = windows is None
        given = [(start, FAR)] if windows is None else windows
        kept: list[tuple[int, int]] = []
        self.longest = max((b - max(a, start) for a, b in given), default=0)
        for opens, shuts in sorted({(max(a, start), b) for a, b in given}, key=_widest_first):
            if shuts - opens >= shortest and (not kept or shuts > kept[-1][1]):
                kept.append((opens, shuts))
        self.opens = [a for a, _ in kept]
        self.shuts = [b for _, b in kept]
        self._next_long: dict[int, list[int]] = {}

    def next_long(self, length: int) -> list[int]:
        """The first window from each on that is `length` long; how many there are if none."""
        known = self._next_long.get(length)
        if known is None:
            count = len(self.opens)
            known = [count] * (count + 1)
            for i in range(count - 1, -1, -1):
                fits = self.shuts[i] - self.opens[i] >= length
                known[i] = i if fits else known[i + 1]
            self._next_long[length] = known
        return known

    def fit(self, earliest: int, length: int) -> int:
        """First start not before `earliest` of a press of `length` inside one window, or `FAR`."""
        i = self.next_long(length)[bisect_left(self.shuts, earliest + length)]
        return FAR if i == len(self.opens) else max(earliest, self.opens[i])

    def fit_back(self, latest: int, length: int) -> int:
        """Last end not after `latest` of a press of `length` inside one window, or `-FAR`."""
        i = bisect_right(self.opens, latest - length) - 1
        while i >= 0:
            end = min(latest, self.shuts[i])
            if end - length >= self.opens[i]:
                return end
            i -= 1
        return -FAR

    def window_of(self, start: int, end: int) -> int:
        """Number of the first window that holds the span, or -1 when none does."""
        i = bisect_left(self.shuts, end)
        return i if i < len(self.opens) and self.opens[i] <= start else -1


def _widest_first(window: tuple[int, int]) -> tuple[int, int]:
    return window[0], -window[1]
