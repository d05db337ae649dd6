"""What becomes of a circle that is turned from green wood and left to dry."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import atan2, cos, hypot, inf, isinf, pi, radians, sin
from typing import Literal

from server.craft.wood.movement import movement
from server.craft.wood.properties import Species
from server.craft.wood.sources import common_practice, remembered

Point = tuple[float, float]
Axis = Literal["end grain", "face grain", "quartered"]

LONGITUDINAL_SHRINKAGE_PERCENT = 0.1
LONGITUDINAL_SOURCE = remembered(
    "USDA FPL Wood Handbook, chapter 4: 0.1 to 0.2 % along the grain from green to ovendry"
)
WALL_SHARE = 0.10
WALL_SOURCE = common_practice("A green wall a tenth of the diameter thick")


@dataclass(frozen=True, slots=True)
class DriedOutline:
    """The dried shape of an end-grain circle about its dried axis, mm, as seen before drying.

    `toward_pith_mm` and `along_rings_mm` are its sizes in these two directions. With the pith
    inside, the wood cannot shrink round it without tearing: it checks, `check_deg` wide.
    """

    points: tuple[Point, ...]
    toward_pith_mm: float
    along_rings_mm: float
    pith_inside: bool
    check_deg: float


@dataclass(frozen=True, slots=True)
class GreenSizes:
    """The circles to turn green so that the finished ones can be turned from the dry wood."""

    outside_radius_mm: float
    inside_radius_mm: float
    wall_mm: float
    usual_wall_mm: float


def dried_outline(
    wood: Species,
    diameter_mm: float,
    from_percent: float,
    to_percent: float,
    pith_distance_mm: float = inf,
    pith_direction_deg: float = 90.0,
    points: int = 120,
) -> DriedOutline:
    """The dried outline of a circle turned with the grain along its axis.

    Shrinkage is radial towards the pith and tangential round it everywhere: in polar
    coordinates about the pith r shrinks by the radial, the arc by the tangential part. That is
    exact for straight grain and rings round one centre; a pith far away (infinite distance)
    gives an ellipse. Raises MissingPropertyError where the wood's shrinkage is not known.
    """
    radial = 1.0 + movement(wood, 1.0, from_percent, to_percent, "radial").relative
    tangential = 1.0 + movement(wood, 1.0, from_percent, to_percent, "tangential").relative
    place = _placer(pith_distance_mm, radial, tangential)
    radius = diameter_mm / 2.0
    turns = [2.0 * pi * step / points for step in range(points)]
    # Worked with the pith on the +x axis, turned to its direction at the end.
    dried = [place(radius * cos(turn), radius * sin(turn)) for turn in turns]
    inside = pith_distance_mm < radius
    return DriedOutline(
        points=tuple(_turned(point, radians(pith_direction_deg)) for point in dried),
        toward_pith_mm=_extent(x for x, _ in dried),
        along_rings_mm=_extent(y for _, y in dried),
        pith_inside=inside,
        check_deg=max(0.0, 360.0 * (1.0 - tangential / radial)) if inside else 0.0,
    )


def dried_diameters(
    wood: Species, diameter_mm: float, from_percent: float, to_percent: float, axis: Axis
) -> tuple[float, float]:
    """The two diameters of the oval, mm, the shorter first, with the pith far from the wood.

    End grain: grain along the axis, the oval is radial by tangential. Face grain: grain across
    the axis with the pith above or below, along the grain by tangential. Quartered: grain
    across the axis with the pith beside it, along the grain by radial.
    """
    one, other = _principal(wood, from_percent, to_percent, axis)
    short, long = sorted((diameter_mm * one, diameter_mm * other))
    return short, long


def green_sizes(
    wood: Species,
    outside_radius_mm: float,
    inside_radius_mm: float,
    from_percent: float,
    to_percent: float,
    axis: Axis = "end grain",
) -> GreenSizes:
    """What to turn green so that the dry oval still holds the finished circles.

    The oval's shortest radius must reach the finished outside, its hollow's longest must stay
    within the finished inside. The usual wall beside it is common practice and leaves room
    for warp that no table foresees. Raises MissingPropertyError.
    """
    one, other = _principal(wood, from_percent, to_percent, axis)
    outside = outside_radius_mm / min(one, other)
    inside = inside_radius_mm / max(one, other)
    return GreenSizes(outside, inside, outside - inside, 2.0 * outside * WALL_SHARE)


def _principal(
    wood: Species, from_percent: float, to_percent: float, axis: Axis
) -> tuple[float, float]:
    """The factors by which the two directions across the lathe's axis shrink."""
    along = 1.0 + _along_grain(wood, from_percent, to_percent)
    radial = 1.0 + movement(wood, 1.0, from_percent, to_percent, "radial").relative
    tangential = 1.0 + movement(wood, 1.0, from_percent, to_percent, "tangential").relative
    if axis == "end grain":
        return radial, tangential
    return (along, tangential) if axis == "face grain" else (along, radial)


def _along_grain(wood: Species, from_percent: float, to_percent: float) -> float:
    saturation = wood.fibre_saturation_percent
    start, end = min(from_percent, saturation), min(to_percent, saturation)
    return LONGITUDINAL_SHRINKAGE_PERCENT / 100.0 * (end - start) / saturation


def _placer(
    pith_distance_mm: float, radial: float, tangential: float
) -> Callable[[float, float], Point]:
    """Where a point goes that lies at (x, y) from the axis, the pith on the +x side."""
    if isinf(pith_distance_mm):
        return lambda x, y: (x * radial, y * tangential)

    def place(x: float, y: float) -> Point:
        back = pith_distance_mm - x
        from_pith = hypot(back, y) * radial
        angle = atan2(y, back) * tangential / radial
        return pith_distance_mm * radial - from_pith * cos(angle), from_pith * sin(angle)

    return place


def _turned(point: Point, angle: float) -> Point:
    x, y = point
    return x * cos(angle) - y * sin(angle), x * sin(angle) + y * cos(angle)


def _extent(values: Iterable[float]) -> float:
    known = tuple(values)
    return max(known) - min(known)
