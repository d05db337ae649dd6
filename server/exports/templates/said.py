"""Sizes and names as the sheets say them."""

from collections.abc import Sequence

from server.craft.units import Units, format_mm, inch_fraction
from server.exports.words import one_line

_MOST_NAMES = 6


def size(length_mm: float, units: Units) -> str:
    """A length in the turner's units with the other behind it: `2 5/8″ (66.7 mm)`."""
    inches, metric = str(inch_fraction(length_mm)), f"{format_mm(length_mm)} mm"
    return f"{inches} ({metric})" if units == "in" else f"{metric} ({inches})"


def angle(degrees: float) -> str:
    """An angle to a hundredth of a degree."""
    return f"{degrees:.2f}°"


def listed(names: Sequence[str]) -> str:
    """A few names; of many the first ones and how many more there are."""
    short = [one_line(name, 24) for name in names]
    if len(short) <= _MOST_NAMES:
        return ", ".join(short)
    shown = short[: _MOST_NAMES - 1]
    return f"{', '.join(shown)} and {len(short) - len(shown)} more"
