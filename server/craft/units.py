"""Lengths as they are typed and printed: inches with fractions and millimetres, exactly.

Every factor derives from one exact fact, 1 in = 25.4 mm (International yard and pound
agreement, 1959).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from server.craft.errors import CraftError

Units = Literal["in", "mm"]

MM_PER_INCH = Fraction(254, 10)
MM_PER_FOOT = 12 * MM_PER_INCH
MM3_PER_BOARD_FOOT = 144 * MM_PER_INCH**3
N_PER_LBF = Fraction("4.4482216152605")
FINEST_INCH = 64
PLANED_MM: Mapping[Units, float] = {"mm": 0.5, "in": 25.4 / 32}
"""What thicknesses are planed to: half millimetres, 1/32 inch. Common practice."""

_MM_PER = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": MM_PER_INCH,
    "ft": MM_PER_FOOT,
}
_SIGNS = {
    "″": "in",
    '"': "in",
    "”": "in",
    "''": "in",
    "inch": "in",
    "inches": "in",
    "′": "ft",
    "'": "ft",
    "’": "ft",
    "feet": "ft",
    "foot": "ft",
}
_VULGAR = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
}
_UNIT = r"(?P<unit>mm|cm|m|inches|inch|in|ft|feet|foot|''|[\"″”'′’])?"
_WHOLE = r"(?P<whole>\d+(?:[.,]\d*)?|[.,]\d+)"
_MIXED = re.compile(
    rf"(?:{_WHOLE}(?:\s*[-+ ]\s*(?=\d+\s*[/⁄])|(?!\s*[/⁄\d])))?"
    rf"(?:(?P<num>\d+)\s*[/⁄]\s*(?P<den>\d+))?\s*{_UNIT}$"
)
_FEET = re.compile(r"^(?P<feet>\d+)\s*(?:ft|feet|foot|['′’](?!'))\s*[- ]?\s*(?P<rest>.+)$")
_LONGEST = 60


@dataclass(frozen=True, slots=True)
class InchFraction:
    """A length as a ruler says it: `whole` and `numerator`/`denominator` inches.

    `error_mm` is how far that mark is from the true length, positive when the mark is longer.
    """

    whole: int
    numerator: int
    denominator: int
    error_mm: float
    negative: bool = False

    def __str__(self) -> str:
        parts = [str(self.whole)] if self.whole or not self.numerator else []
        if self.numerator:
            parts.append(f"{self.numerator}/{self.denominator}")
        return ("−" if self.negative else "") + " ".join(parts) + "″"


def parse_length(text: str, default: Units = "mm") -> float:
    """What a turner typed, in mm: `2 5/8`, `2-5/8"`, `66.7 mm`, `66,7`, `1' 3 1/2"`.

    A number without a unit is in `default`, a bare fraction is always inches. Raises
    `CraftError` with words that can stand beside the field.
    """
    cleaned = text.strip().lower().replace("−", "-")
    for sign, plain in _VULGAR.items():
        cleaned = cleaned.replace(sign, f" {plain}")
    cleaned = " ".join(cleaned.split())
    if not cleaned:
        raise CraftError("A length is missing here.")
    if len(cleaned) > _LONGEST:
        raise CraftError("That is too long for a length.")
    negative = cleaned.startswith("-")
    magnitude = _magnitude_mm(cleaned.lstrip("-").strip(), default, text)
    return float(-magnitude if negative else magnitude)


def _magnitude_mm(cleaned: str, default: Units, typed: str) -> Fraction:
    feet = _FEET.match(cleaned)
    if feet:
        return int(feet["feet"]) * MM_PER_FOOT + _magnitude_mm(feet["rest"], "in", typed)
    found = _MIXED.match(cleaned)
    if not found or (found["whole"] is None and found["num"] is None):
        raise CraftError(f'“{typed.strip()}” is no length. Write 2 5/8, 2-5/8" or 66.7 mm.')
    value = Fraction((found["whole"] or "0").replace(",", "."))
    if found["num"] is not None:
        if int(found["den"]) == 0:
            raise CraftError("A fraction cannot have 0 below the line.")
        value += Fraction(int(found["num"]), int(found["den"]))
    unit = found["unit"] or ("in" if found["num"] is not None else default)
    return value * _MM_PER[_SIGNS.get(unit, unit)]


@lru_cache(maxsize=4096)
def inch_fraction(length_mm: float, finest: int = FINEST_INCH) -> InchFraction:
    """The nearest ruler mark to a length; `finest` is the smallest division, a power of two."""
    parts = round(Fraction(abs(length_mm)) / MM_PER_INCH * finest)
    mark = Fraction(parts, finest)
    whole, rest = divmod(mark, 1)
    error_mm = float(mark * MM_PER_INCH - Fraction(abs(length_mm)))
    negative = length_mm < 0 and parts > 0
    return InchFraction(int(whole), rest.numerator, rest.denominator, error_mm, negative)


def format_mm(length_mm: float, places: int = 1) -> str:
    """Millimetres with a true minus sign and no unit, `places` decimals."""
    text = f"{abs(length_mm):.{places}f}"
    return f"−{text}" if length_mm < 0 and float(text) != 0 else text


def format_length(length_mm: float, units: Units, places: int = 1) -> str:
    """A length with its unit in running text, in the user's units."""
    if units == "in":
        return str(inch_fraction(length_mm))
    return f"{format_mm(length_mm, places)} mm"


def board_feet(thickness_mm: float, width_mm: float, length_mm: float) -> float:
    """Board feet of a board of these sizes: 144 in³ each (NHLA rules)."""
    volume = Fraction(thickness_mm) * Fraction(width_mm) * Fraction(length_mm)
    return float(volume / MM3_PER_BOARD_FOOT)
