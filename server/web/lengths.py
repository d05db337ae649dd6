"""Lengths on a page: stacked fractions for settings, diagonal ones in running text."""

import math
from functools import lru_cache

from markupsafe import Markup, escape

from server.craft.units import (
    FINEST_INCH,
    PLANED_MM,
    InchFraction,
    Units,
    format_mm,
    inch_fraction,
)

_STACKED = Markup(
    '<span class="in"><span>{sign}{whole}</span>'
    '<span><span class="fr" aria-hidden="true"><span>{num}</span><span>{den}</span></span>'
    '<span class="vh"> {num}/{den}</span><span class="un">″</span></span></span>'
)
_WHOLE = Markup('<span class="in"><span>{sign}{whole}</span><span class="un">″</span></span>')
_DIAGONAL = Markup('<span class="dg">{sign}{whole}<span>{num}/{den}</span>″</span>')


_ON_THE_MARK_MM = 1e-6
_WRITTEN = 4096
"""Lengths whose writing is kept: the next page shows nearly the same ones."""


def _sign(mark: InchFraction) -> str:
    return "−" if mark.negative else ""


@lru_cache(maxsize=_WRITTEN)
def stacked(length_mm: float, units: Units = "in", places: int = 1) -> Markup:
    """A length as a figure: inches with a stacked fraction, or millimetres with a light unit."""
    if units == "mm":
        return Markup("{}<small>mm</small>").format(format_mm(length_mm, places))
    mark = inch_fraction(length_mm)
    whole = str(mark.whole) if mark.whole or not mark.numerator else ""
    shape = _STACKED if mark.numerator else _WHOLE
    return shape.format(sign=_sign(mark), whole=whole, num=mark.numerator, den=mark.denominator)


@lru_cache(maxsize=_WRITTEN)
def diagonal(
    length_mm: float, units: Units = "in", places: int = 1, finest: int = FINEST_INCH
) -> Markup:
    """A length in running text, with its unit; `finest` is the smallest division of the inch."""
    if units == "mm":
        return Markup("{} mm").format(format_mm(length_mm, places))
    mark = inch_fraction(length_mm, finest)
    if not mark.numerator:
        return escape(str(mark))
    whole = str(mark.whole) if mark.whole else ""
    return _DIAGONAL.format(sign=_sign(mark), whole=whole, num=mark.numerator, den=mark.denominator)


def mark_error(length_mm: float, exact_below_mm: float = 0.05) -> str:
    """How far the nearest ruler mark is from the true length, in words."""
    error_mm = inch_fraction(length_mm).error_mm
    if abs(error_mm) < exact_below_mm:
        return "mark is exact"
    return f"mark is {'+' if error_mm > 0 else ''}{format_mm(error_mm)} mm"


def ruled_down(length_mm: float, units: Units) -> float:
    """The length in mm, less what a planer is not set to."""
    return math.floor(length_mm / PLANED_MM[units] + 1e-9) * PLANED_MM[units]


def field_text(length_mm: float | None, units: Units = "mm") -> str:
    """A length as it is written into a form field, without its unit; empty for none.

    Inches that lie on no 1/64 mark are written with decimals. What is written is true to 0.0013
    mm; `Fields.length(was=…)` gives the whole length back as long as nobody changed the text.
    """
    if length_mm is None:
        return ""
    if units == "mm":
        return f"{length_mm:.3f}".rstrip("0").rstrip(".")
    mark = inch_fraction(length_mm)
    if abs(mark.error_mm) < _ON_THE_MARK_MM:
        return str(mark).rstrip("″").replace("−", "-")
    return f"{length_mm / 25.4:.4f}".rstrip("0").rstrip(".")
