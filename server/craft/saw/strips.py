"""How long a strip must be for the segments cut from it, and what its lumber is called and counts.

Symbols: n segments of outer edge L and width W, mitre θ, blade kerf k measured square to the
blade. A mitred cut therefore takes k/cos θ along the strip.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from server.craft.errors import GeometryError
from server.craft.records import record
from server.craft.units import MM_PER_FOOT, MM_PER_INCH, board_feet

_INCHES_PER_QUARTER = Fraction(1, 4)
_SLACK_MM = 1e-9


@record
class StripCut:
    """How one kind of segment is cut from its strip; all in mm, the mitre in degrees.

    A strip for n segments is `n · pitch_mm + setup_mm` long, the trim cut included.
    """

    width_mm: float
    mitre_deg: float
    kerf_mm: float
    flip: bool
    hold_tail_mm: float = 0.0

    @property
    def cut_mm(self) -> float:
        """What one mitred cut takes along the strip: k/cos θ."""
        return self.kerf_mm / math.cos(math.radians(self.mitre_deg))

    @property
    def lean_mm(self) -> float:
        """How far a mitred face leans along the strip: W·tan θ."""
        return self.width_mm * math.tan(math.radians(self.mitre_deg))

    @property
    def setup_mm(self) -> float:
        """Length of a strip before its first segment: trim cut, lean of the far end, tail."""
        lean = self.lean_mm if self.flip else 0.0
        return lean + self.cut_mm + self.hold_tail_mm

    def pitch_mm(self, outer_edge_mm: float) -> float:
        """Length that one more segment of this outer edge takes."""
        lean = self.lean_mm if self.flip else 0.0
        return outer_edge_mm - lean + self.cut_mm

    def length_mm(self, pieces: Iterable[tuple[float, int]]) -> float:
        """Strip for these (outer edge, count); several when the stop is reset between them."""
        wanted = [(edge, count) for edge, count in pieces if count > 0]
        if not wanted:
            return 0.0
        cut, lean = self.cut_mm, self.lean_mm if self.flip else 0.0
        segments = sum((edge - lean + cut) * count for edge, count in wanted)
        return lean + cut + self.hold_tail_mm + segments


def inner_edge_mm(outer_edge_mm: float, width_mm: float, mitre_deg: float) -> float:
    """Inner edge L − 2·W·tan θ; raises `GeometryError` where it would be negative."""
    inner = outer_edge_mm - 2 * width_mm * math.tan(math.radians(mitre_deg))
    if inner < -_SLACK_MM:
        raise GeometryError(
            "inside-outside",
            "The strip is too wide for this outer edge: its inner edge would be less than nothing.",
        )
    return max(inner, 0.0)


# A ring's segments of several woods are mostly as many and alike, in this plan and in the next.
@lru_cache(maxsize=1024)
def strip_length_mm(
    count: int,
    outer_edge_mm: float,
    width_mm: float,
    mitre_deg: float,
    kerf_mm: float,
    *,
    flip: bool = True,
    hold_tail_mm: float = 0.0,
) -> float:
    """Strip for `count` equal segments, trim cut included, end trim not.

    Flipped, the strip is rolled over after each cut so that neighbours nest:
    n·(L − W·tan θ) + W·tan θ + (n + 1)·k/cos θ. Not flipped, each next cut starts in the corner
    that the last one left: n·L + (n + 1)·k/cos θ. Both follow from the definition.
    """
    cut = StripCut(width_mm, mitre_deg, kerf_mm, flip, hold_tail_mm)
    return cut.length_mm([(outer_edge_mm, count)])


def two_cut_length_mm(
    count: int, outer_edge_mm: float, mitre_deg: float, kerf_mm: float, hold_tail_mm: float = 0.0
) -> float:
    """Strip for `count` segments each cut free at both ends: n·L + 2n·k/cos θ."""
    if count == 0:
        return 0.0
    cut_mm = kerf_mm / math.cos(math.radians(mitre_deg))
    return count * (outer_edge_mm + 2 * cut_mm) + hold_tail_mm


@dataclass(frozen=True, slots=True)
class SoldThickness:
    """A thickness as hardwood is sold: `name` in quarters, rough and surfaced two sides, in mm."""

    name: str
    rough_mm: float
    surfaced_mm: float


def _sold(rough: str, surfaced: str) -> SoldThickness:
    inches = Fraction(rough)
    quarters = inches / _INCHES_PER_QUARTER
    name = f"{quarters}/4" if quarters.denominator == 1 and quarters >= 3 else f"{rough} in"
    return SoldThickness(name, float(inches * MM_PER_INCH), float(Fraction(surfaced) * MM_PER_INCH))


# NHLA standard thicknesses: rough, and surfaced two sides, in inches. The 10/4 row is from memory
# of that table, the others were read.
SOLD_THICKNESSES = tuple(
    _sold(rough, surfaced)
    for rough, surfaced in (
        ("3/8", "3/16"),
        ("1/2", "5/16"),
        ("5/8", "7/16"),
        ("3/4", "9/16"),
        ("1", "13/16"),
        ("5/4", "17/16"),
        ("3/2", "21/16"),
        ("7/4", "3/2"),
        ("2", "7/4"),
        ("5/2", "9/4"),
        ("3", "11/4"),
        ("7/2", "13/4"),
        ("4", "15/4"),
    )
)


def sold_thickness(needed_mm: float, *, surfaced: bool = False) -> SoldThickness | None:
    """The thinnest thickness as sold that holds `needed_mm`; None beyond the table."""
    for sold in SOLD_THICKNESSES:
        has = sold.surfaced_mm if surfaced else sold.rough_mm
        if has >= needed_mm - _SLACK_MM:
            return sold
    return None


def tallied_board_feet(nominal_thickness_mm: float, width_mm: float, length_mm: float) -> int:
    """Board feet as a yard tallies one board (NHLA): surface measure × nominal thickness.

    Surface measure is width in inches × length in feet / 12, rounded to the nearest square foot;
    a thickness under one inch counts as one inch. The result is rounded like the tally sheet.
    """
    square_feet = Fraction(width_mm) / MM_PER_INCH * Fraction(length_mm) / MM_PER_FOOT / 12
    surface = math.floor(square_feet + Fraction(1, 2))
    inches = max(Fraction(1), Fraction(nominal_thickness_mm) / MM_PER_INCH)
    return math.floor(surface * inches + Fraction(1, 2))


def nominal_board_feet(nominal_thickness_mm: float, width_mm: float, length_mm: float) -> float:
    """Board feet before any rounding, on the nominal thickness (under 1 in counts as 1 in)."""
    return board_feet(max(nominal_thickness_mm, float(MM_PER_INCH)), width_mm, length_mm)
