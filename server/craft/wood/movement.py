"""How much a width of wood moves between two moisture contents."""

from typing import Literal

from server.craft.records import record
from server.craft.wood.properties import Direction, MissingPropertyError, Species

COEFFICIENT_LOW_PERCENT = 6.0
COEFFICIENT_HIGH_PERCENT = 14.0

Method = Literal["dimensional change coefficient", "shrinkage"]
Grain = Literal["flat", "quarter", "rift"]


@record
class Movement:
    """What a width does: the change in mm, positive when it swells, and how it was found."""

    change_mm: float
    relative: float
    method: Method
    equation: str


def movement(
    wood: Species, width_mm: float, from_percent: float, to_percent: float, direction: Direction
) -> Movement:
    """The movement of `width_mm`, measured at `from_percent`, when it comes to `to_percent`.

    USDA FPL Wood Handbook, chapter 13: eq. 13-2 with the coefficient of Table 13-5 where both
    moistures lie within 6 to 14 % and the coefficient is known; else eq. 13-3 from the
    shrinkage, up to fibre saturation, above which wood keeps its size.
    Raises MissingPropertyError where the wood's shrinkage is not known.
    """
    coefficient = wood.change_per_percent(direction)
    if coefficient is not None and _within_table(from_percent) and _within_table(to_percent):
        s = coefficient * (to_percent - from_percent)
        return Movement(width_mm * s, s, "dimensional change coefficient", "13-2")
    s = _relative_by_shrinkage(wood, from_percent, to_percent, direction)
    return Movement(width_mm * s, s, "shrinkage", "13-3")


def movement_mm(
    wood: Species, width_mm: float, from_percent: float, to_percent: float, direction: Direction
) -> float:
    """The change of `movement` alone, mm, positive when it swells."""
    return movement(wood, width_mm, from_percent, to_percent, direction).change_mm


def relative_change(
    wood: Species, from_percent: float, to_percent: float, grain: Grain = "flat"
) -> float:
    """The relative change s of a board's width, positive when it swells.

    Across the width a flat-sawn board moves tangentially, a quarter-sawn board radially; a
    rift-sawn board has its rings at 45°, and a small strain turned by 45° is the mean of both
    (the rotation of plane strain, without shear). Raises MissingPropertyError.
    """
    if grain == "flat":
        return movement(wood, 1.0, from_percent, to_percent, "tangential").relative
    if grain == "quarter":
        return movement(wood, 1.0, from_percent, to_percent, "radial").relative
    return (
        relative_change(wood, from_percent, to_percent, "flat")
        + relative_change(wood, from_percent, to_percent, "quarter")
    ) / 2.0


def _relative_by_shrinkage(
    wood: Species, from_percent: float, to_percent: float, direction: Direction
) -> float:
    """Eq. 13-3 with the wood's own fibre saturation in place of its 30 %."""
    shrinkage = wood.shrinkage_percent(direction)
    if shrinkage is None:
        raise MissingPropertyError(f"The shrinkage of {wood.name} is not known.")
    if shrinkage == 0.0:
        return 0.0
    saturation = wood.fibre_saturation_percent
    start, end = min(from_percent, saturation), min(to_percent, saturation)
    return (end - start) / (saturation * 100.0 / shrinkage - saturation + start)


def _within_table(moisture_percent: float) -> bool:
    return COEFFICIENT_LOW_PERCENT <= moisture_percent <= COEFFICIENT_HIGH_PERCENT
