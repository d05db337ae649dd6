"""Sizes of paper, and which one a piece is printed on."""

from dataclasses import dataclass
from enum import StrEnum

from server.craft.units import MM_PER_INCH, Units

MARGIN_MM = 12.0
"""Printers leave a strip at the edges blank; 12 mm is more than any of them needs."""


@dataclass(frozen=True, slots=True)
class Size:
    """A sheet, upright, mm."""

    width_mm: float
    height_mm: float

    @property
    def free_width_mm(self) -> float:
        """Between the margins."""
        return self.width_mm - 2 * MARGIN_MM

    @property
    def free_height_mm(self) -> float:
        """Between the margins."""
        return self.height_mm - 2 * MARGIN_MM


class Paper(StrEnum):
    """A4 by ISO 216, Letter by ANSI/ASME Y14.1 (8½ by 11 in)."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def size(self) -> Size:
        """How large."""
        return _SIZES[self]


_SIZES = {
    Paper.A4: Size(210.0, 297.0),
    Paper.LETTER: Size(float(MM_PER_INCH * 17 / 2), float(MM_PER_INCH * 11)),
}


def paper_for(units: Units, asked: Paper | None = None) -> Paper:
    """The paper asked for, or what lies in the printer where those units are at home."""
    if asked is not None:
        return asked
    return Paper.LETTER if units == "in" else Paper.A4
