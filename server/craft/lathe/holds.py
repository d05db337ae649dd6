"""How the work is held: sizes of each hold, whether it is strong enough, and with which jaws.

The numbers here are common practice and defaults; the makers' manuals of lathe and chuck go first.
All lengths in mm, diameters unless a name says otherwise.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from server.craft.worked.piece import WorkedPart

RECESS_DEPTH_MM = 4.0
RECESS_WALL_MM = 10.0
RECESS_FLOOR_MM = 5.0
TENON_LENGTH_MM = 8.0
TENON_SHARE = 1 / 3
"""Common practice: a chuck's tenon wants a third of the work's greatest diameter."""

STEADY_RATIO = 10.0
"""Common practice: between centres, longer than so many diameters wants a steady."""

OVERHANG_RATIO = 3.0
"""Common practice: standing out free more than so many diameters of what holds it wants support."""

JAM_DEPTH_MM = 8.0
CLAMP_LINING_MM = 3.0
CLAMP_WALL_MM = 4.0
RING_SLOPE_LEAST_DEG = 15.0
RING_SLOPE_MOST_DEG = 75.0


class Way(StrEnum):
    """Ways to hold work on the lathe."""

    FACEPLATE = "faceplate"
    BETWEEN_CENTRES = "between-centres"
    RECESS = "recess"
    TENON = "tenon"
    RING_CLAMP = "ring-clamp"
    GLUED_GROOVE = "glued-groove"
    JAM_CHUCK = "jam-chuck"
    BY_HAND = "by-hand"


class Strength(StrEnum):
    """What a hold bears: anything; light cuts and boring; the lightest cuts with the tailstock."""

    FIRM = "firm"
    FAIR = "fair"
    LIGHT = "light"
    NONE = "none"


STRENGTH = {
    Way.FACEPLATE: Strength.FIRM,
    Way.BETWEEN_CENTRES: Strength.FIRM,
    Way.RECESS: Strength.FIRM,
    Way.TENON: Strength.FIRM,
    Way.RING_CLAMP: Strength.FAIR,
    Way.GLUED_GROOVE: Strength.FAIR,
    Way.JAM_CHUCK: Strength.LIGHT,
    Way.BY_HAND: Strength.NONE,
}


@dataclass(frozen=True, slots=True)
class Jaws:
    """A set of jaws that the shop owns: what it closes on and what it opens in (diameters)."""

    name: str
    closes_from_mm: float | None = None
    closes_to_mm: float | None = None
    opens_from_mm: float | None = None
    opens_to_mm: float | None = None

    def take(self, diameter_mm: float, way: Way) -> bool:
        """Whether a recess or a tenon of that diameter is theirs."""
        low, high = (
            (self.opens_from_mm, self.opens_to_mm)
            if way is Way.RECESS
            else (self.closes_from_mm, self.closes_to_mm)
        )
        return low is not None and high is not None and low <= diameter_mm <= high


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold for one step. Sizes are None where they cannot be told.

    `size_mm` is the waste block, recess, tenon, jam or clamp opening, `at_mm` the height on the
    part where it holds, `held` the end at the headstock. `wall_mm` and `floor_mm` are the wood
    left around and beyond a recess.
    """

    way: Way
    tailstock: bool = False
    steady: bool = False
    size_mm: float | None = None
    at_mm: float | None = None
    wall_mm: float | None = None
    floor_mm: float | None = None
    jaws: str | None = None
    faceplate: str | None = None
    held: str = "bottom"

    @property
    def strength(self) -> Strength:
        """What the hold bears."""
        return STRENGTH[self.way]


@dataclass(frozen=True, slots=True)
class RecessFit:
    """Wood left around and beyond a recess; `holds` says whether it is as much as is usual."""

    diameter_mm: float
    depth_mm: float
    wall_mm: float
    floor_mm: float

    @property
    def holds(self) -> bool:
        """Whether wall and floor are as thick as is common practice."""
        return self.wall_mm >= RECESS_WALL_MM and self.floor_mm >= RECESS_FLOOR_MM


def recess_fit(
    part: WorkedPart, diameter_mm: float, depth_mm: float = RECESS_DEPTH_MM
) -> RecessFit:
    """What a recess in the bottom leaves: the least wall beside it, the least floor above it.

    The jaws press outward along the recess's whole depth, so that the wall is taken at the
    narrowest outside radius there; the floor against the lowest hollow over the recess.
    """
    base = part.z0_mm
    low = part.outside.radius_extremes(base, base + depth_mm)
    wall = (low[0] if low else 0.0) - diameter_mm / 2
    return RecessFit(diameter_mm, depth_mm, wall, _floor_above(part, diameter_mm / 2, depth_mm))


def _floor_above(part: WorkedPart, radius_mm: float, depth_mm: float) -> float:
    """Wood between the recess's floor and the hollow above it, straight up; to the top if none."""
    if part.inside is None:
        return part.height_mm - depth_mm
    line = part.inside.polyline(64)
    near = line[line[:, 0] <= radius_mm + 1e-9, 1]
    over = float(near.min()) if len(near) else part.z1_mm
    if part.floor_mm is not None:
        over = max(over, part.floor_mm)
    return over - part.z0_mm - depth_mm


def jaws_for(jaws: Sequence[Jaws], diameter_mm: float, way: Way) -> Jaws | None:
    """The first of the shop's jaws that take that diameter; None when none do."""
    return next((one for one in jaws if one.take(diameter_mm, way)), None)


def recess_hold(part: WorkedPart, jaws: Sequence[Jaws]) -> Hold | None:
    """The largest recess in the bottom that the jaws take and the wood bears; None if none does."""
    foot = part.outside.radii_at(part.z0_mm)
    widest = 2 * ((foot[-1] if foot else 0.0) - RECESS_WALL_MM)
    best: Hold | None = None
    for one in jaws:
        if one.opens_from_mm is None or one.opens_to_mm is None:
            continue
        size = min(widest, one.opens_to_mm)
        if size < one.opens_from_mm:
            continue
        fit = recess_fit(part, size)
        if fit.holds and (best is None or size > (best.size_mm or 0.0)):
            best = Hold(
                Way.RECESS,
                size_mm=size,
                at_mm=part.z0_mm,
                wall_mm=fit.wall_mm,
                floor_mm=fit.floor_mm,
                jaws=one.name,
            )
    return best


def tenon_hold(greatest_diameter_mm: float, end_diameter_mm: float, jaws: Sequence[Jaws]) -> Hold:
    """A tenon in closing jaws: as large as the end allows, at least a third of the greatest.

    The wanted size is said even when no jaws take it; `jaws` is then None.
    """
    wanted = greatest_diameter_mm * TENON_SHARE
    sizes = [
        (min(end_diameter_mm, one.closes_to_mm), one)
        for one in jaws
        if one.closes_to_mm is not None
        and one.closes_from_mm is not None
        and one.closes_from_mm <= end_diameter_mm
    ]
    strong = [(size, one) for size, one in sizes if size >= wanted]
    if not strong:
        return Hold(Way.TENON, size_mm=min(wanted, end_diameter_mm))
    size, chosen = min(strong, key=lambda pair: pair[0])
    return Hold(Way.TENON, size_mm=size, jaws=chosen.name)


@dataclass(frozen=True, slots=True)
class RingClamp:
    """A ring clamp at one height, the part upside down: the foot stands out of the opening.

    `opening_mm` is the form's diameter there, `cut_mm` the hole to cut with its soft lining.
    `slope_deg` is how far the wall leans from the axis there: too steep slips, too flat bears
    on an edge.
    """

    z_mm: float
    opening_mm: float
    cut_mm: float
    slope_deg: float
    wall_mm: float | None

    @property
    def holds(self) -> bool:
        """Whether the slope and the wall there suit a ring clamp."""
        sloped = RING_SLOPE_LEAST_DEG <= self.slope_deg <= RING_SLOPE_MOST_DEG
        return sloped and (self.wall_mm is None or self.wall_mm >= CLAMP_WALL_MM)


def ring_clamp(
    part: WorkedPart, z_mm: float, wall_mm: float | None = None, lining_mm: float = CLAMP_LINING_MM
) -> RingClamp | None:
    """The ring clamp's opening from the profile at a height; None where it cannot go on there.

    The foot below must pass through the opening, so that nothing below is wider than the form is
    at that height, and the form must go on widening above it.
    """
    below = part.outside.radius_extremes(part.z0_mm, z_mm)
    here = part.outside.radii_at(z_mm)
    if below is None or not here or below[1] > here[-1] + 1e-6:
        return None
    step = 0.5
    above = part.outside.radii_at(min(z_mm + step, part.z1_mm))
    if not above or above[-1] <= here[-1]:
        return None
    slope = float(np.degrees(np.arctan2(above[-1] - here[-1], step)))
    return RingClamp(z_mm, 2 * here[-1], 2 * here[-1] + 2 * lining_mm, slope, wall_mm)


@dataclass(frozen=True, slots=True)
class SteadyNeed:
    """How slender the work is, and whether that asks for a steady or the tailstock."""

    ratio: float
    limit: float

    @property
    def needed(self) -> bool:
        """Whether it is more slender than is common practice without."""
        return self.ratio > self.limit


def steady_between_centres(length_mm: float, least_diameter_mm: float) -> SteadyNeed:
    """For work between centres, by its length and thinnest diameter."""
    return SteadyNeed(length_mm / max(least_diameter_mm, 0.1), STEADY_RATIO)


def steady_on_block(overhang_mm: float, block_diameter_mm: float) -> SteadyNeed:
    """For work that stands out free from its block or chuck."""
    return SteadyNeed(overhang_mm / max(block_diameter_mm, 0.1), OVERHANG_RATIO)
