"""How a board may be opened, as cases that exclude each other; the exact bound goes through them.

Seen along the board a layout has a zone between the full-width offcuts at its ends. Beside the
strips of the zone there may be offcuts narrower than the board, each 300 mm long or more and
equally high all along. In a zone shorter than 600 mm all of those cross its middle.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from server.craft.saw.layout.problem import KEEP_LENGTH_UM, KEEP_WIDTH_UM, UM, Stock

KEEP_MM = KEEP_LENGTH_UM / UM
KEEP_WIDE_MM = KEEP_WIDTH_UM / UM
_CLOSE_MM = 0.5

Beside = Literal["any", "none", "one", "several", "long"]


@dataclass(frozen=True, slots=True)
class Mode:
    """What is decided of one board; None and "any" are still open.

    `ends` counts the full offcuts at its ends. `beside` tells the narrow offcuts: one, several
    abreast, or any in a zone of 600 mm and more; their heights add up to `low_mm` … `high_mm`.
    The zone is `short_mm` to `long_mm` long.
    """

    opened: bool | None = None
    ends: int | None = None
    beside: Beside = "any"
    low_mm: float = KEEP_WIDE_MM
    high_mm: float = 0.0
    short_mm: float = 0.0
    long_mm: float = math.inf


class Shape:
    """The measures of one board that its modes depend on (mm), and what a mm² of it costs."""

    def __init__(self, stock: Stock, cross_um: int, rip_um: int) -> None:
        self.length, self.width = stock.length_um / UM, stock.width_um / UM
        self.trim, self.cross, self.rip = stock.trim_um / UM, cross_um / UM, rip_um / UM
        self.behind = min(self.trim, self.cross)
        self.usable = self.length - 2 * self.trim + self.behind
        self.rate = stock.rate
        self.per_mm = stock.rate * self.width
        self.highest = self.width - stock.narrowest_um / UM

    def zone(self, mode: Mode) -> tuple[float, float]:
        """The shortest and the longest zone."""
        low, high = 0.0, self.length
        if mode.ends == 0:
            low = self.length
        elif mode.ends == 1:
            high = self.length - KEEP_MM
        elif mode.ends == 2:
            high = self.length - 2 * KEEP_MM - self.cross
        if mode.beside in ("one", "several"):
            low, high = max(low, KEEP_MM), min(high, 2 * KEEP_MM)
        if mode.beside == "long":
            low = max(low, 2 * KEEP_MM)
        return max(low, mode.short_mm), min(high, mode.long_mm)

    def bare(self, mode: Mode) -> float:
        """Length in which no strip can lie: the trims at ends that do not go back."""
        if mode.ends == 0:
            return 2 * self.trim - self.behind
        return self.trim if mode.ends == 1 else 0.0

    def reach(self, mode: Mode) -> float:
        """The longest stretch of the zone that strips can lie in, between the trims."""
        high = self.zone(mode)[1]
        between = min(high, self.length - 2 * self.trim)
        return min(between, high - self.trim) if mode.ends == 1 else between

    def shortest(self, mode: Mode) -> float:
        """How much of a narrow offcut lies in that stretch at least."""
        beyond = max(0.0, self.trim - KEEP_MM)
        lost = {2: 2 * beyond, 1: self.trim + beyond}.get(mode.ends or 0, 2 * self.trim)
        return max(0.0, KEEP_MM - lost)

    def most_abreast(self) -> int:
        """How many narrow offcuts can lie side by side."""
        return int((self.width + self.rip + 1e-6) // (KEEP_WIDE_MM + self.rip))

    def offcuts_mm(self, mode: Mode) -> float:
        """Least width, with kerfs, of the narrow offcuts that cross the zone's middle."""
        if mode.beside == "one":
            return mode.low_mm + self.rip
        return mode.low_mm + 2 * self.rip if mode.beside == "several" else 0.0

    def height(self, mode: Mode, rest_mm: float) -> float:
        """How high narrow offcuts can be, together, beside a slice with this rest; 0 for none."""
        low, high = mode.low_mm, mode.high_mm
        if mode.beside == "none" or rest_mm < KEEP_WIDE_MM or self.length < KEEP_MM:
            return 0.0
        if mode.beside == "one":
            return min(rest_mm, high) if rest_mm >= low else 0.0
        if mode.beside == "several":
            # All of them need a kerf between; where one is missing, 40 mm or more are missing.
            if rest_mm >= low + self.rip:
                return min(rest_mm - self.rip, high)
            return max(0.0, min(rest_mm, high - KEEP_WIDE_MM))
        return rest_mm

    def by_ends(self, mode: Mode) -> list[Mode]:
        """The cases of none, one or two full offcuts at the ends."""
        return self._possible(replace(mode, ends=ends) for ends in (0, 1, 2))

    def by_beside(self, mode: Mode) -> list[Mode]:
        """The cases of what lies beside the strips."""
        # One offcut has a strip beside it somewhere, or it could be as wide as the board; several
        # can have each other.
        top, abreast = self.highest, self.width - self.rip
        return self._possible(
            (
                replace(mode, beside="none"),
                replace(mode, beside="one", low_mm=KEEP_WIDE_MM, high_mm=top),
                replace(mode, beside="several", low_mm=2 * KEEP_WIDE_MM, high_mm=abreast),
                replace(mode, beside="long"),
            )
        )

    def by_height(self, mode: Mode, at_mm: float) -> list[Mode]:
        """Lower and higher offcuts; nothing where the range is narrow already."""
        low, high = mode.low_mm, mode.high_mm
        if high - low <= _CLOSE_MM:
            return []
        middle = min(max(at_mm, low + 0.1 * (high - low)), high - 0.1 * (high - low))
        return [replace(mode, high_mm=middle), replace(mode, low_mm=middle)]

    def by_zone(self, mode: Mode, at_mm: float) -> list[Mode]:
        """A shorter and a longer zone."""
        return self._possible((replace(mode, long_mm=at_mm), replace(mode, short_mm=at_mm)))

    def _possible(self, modes: Iterator[Mode] | tuple[Mode, ...]) -> list[Mode]:
        found = []
        for mode in modes:
            low, high = self.zone(mode)
            if low <= high and (
                mode.beside not in ("one", "several") or mode.low_mm < mode.high_mm
            ):
                found.append(mode)
        return found
