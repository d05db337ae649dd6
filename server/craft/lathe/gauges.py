"""What to set the calipers to: diameters and wall at chosen heights, depth to the floor, wood left.

Heights are in the part's own z, mm. Everything is of the finished form unless it says rough.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from server.craft.form.outline import hollow
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing

_SAGITTA_MM = 0.002
_APART_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Gauge:
    """The finished form at one height; `wall_mm` and `inside_diameter_mm` None where solid.

    `wall_mm` is the least wood from the outside there to the hollow, square to the surface.
    """

    z_mm: float
    ring: str | None
    outside_diameter_mm: float
    wall_mm: float | None
    inside_diameter_mm: float | None


@dataclass(frozen=True, slots=True)
class RoughGauge:
    """What the gouge meets at one ring, in mm.

    `corners_proud_mm` is how far corners stand out beyond the round that the flats touch.
    `left_outside_mm` and `left_inside_mm` are what remains to be turned once the ring, mounted
    `eccentric_mm` off the axis, has been trued: R − e − R_finished, and the same inside. Below
    nothing the finished form breaks out of the wood. None where the ring is solid or not made.
    """

    ring: str
    rough_diameter_mm: float | None
    corners_proud_mm: float | None
    left_outside_mm: float | None
    left_inside_mm: float | None


def gauge_at(part: WorkedPart, z_mm: float) -> Gauge | None:
    """The finished form at one height; None above, below or where the outside does not reach."""
    radii = part.outside.radii_at(z_mm)
    if not radii or radii[-1] <= 0:
        return None
    inside = _inside_radius(part, z_mm)
    return Gauge(
        z_mm=z_mm,
        ring=part.ring_at(z_mm),
        outside_diameter_mm=2 * radii[-1],
        wall_mm=_wall(part, radii[-1], z_mm) if inside is not None else None,
        inside_diameter_mm=None if inside is None else 2 * inside,
    )


def gauges(part: WorkedPart, heights_mm: Sequence[float]) -> tuple[Gauge, ...]:
    """Gauges at these heights, those that miss the form left out."""
    found = (gauge_at(part, z) for z in heights_mm)
    return tuple(gauge for gauge in found if gauge is not None)


def telling_heights(
    part: WorkedPart, low_mm: float | None = None, high_mm: float | None = None
) -> tuple[float, ...]:
    """Heights worth a caliper between two others: both ends, and each widest and narrowest place.

    Ascending. These are where a profile goes wrong first and where a caliper sits square.
    """
    low = part.z0_mm if low_mm is None else low_mm
    high = part.z1_mm if high_mm is None else high_mm
    line = part.outside.polyline(16)
    line = line[(line[:, 1] >= low - _APART_MM) & (line[:, 1] <= high + _APART_MM)]
    heights = {low, high}
    if len(line) > 2:
        slope = np.sign(np.diff(line[:, 0]))
        turns = np.flatnonzero(slope[1:] * slope[:-1] < 0) + 1
        heights |= {float(line[turn, 1]) for turn in turns}
    return tuple(sorted(heights))


def depth_to_floor_mm(part: WorkedPart) -> float | None:
    """From the level of the rim down to the lowest place inside; None where nothing is hollow.

    None too for a form that is open below: there is no floor to reach.
    """
    low = lowest_hollow_mm(part)
    return None if low is None else part.z1_mm - low


def depth_left_mm(part: WorkedPart, measured_depth_mm: float) -> float | None:
    """How much deeper to go from a depth measured from the rim; below nothing: it is too deep."""
    depth = depth_to_floor_mm(part)
    return None if depth is None else depth - measured_depth_mm


def lowest_hollow_mm(part: WorkedPart) -> float | None:
    """The height of the lowest place inside; None without an inside or without a floor."""
    if part.inside is None:
        return None
    void = hollow(part.outside, part.inside, part.floor_mm, _SAGITTA_MM)
    if void.is_empty:
        return None
    low = float(void.bounds[1])
    return low if low > part.z0_mm + _APART_MM else None


def rough_gauge(ring: WorkedRing, eccentric_mm: float = 0.0) -> RoughGauge:
    """What the gouge meets at a ring that is glued on `eccentric_mm` off the axis."""
    corner, outside = ring.corner_radius_mm, ring.outside_mm
    if corner is None or outside is None:
        return RoughGauge(ring.id, None, None, None, None)
    return RoughGauge(
        ring=ring.id,
        rough_diameter_mm=2 * (corner + eccentric_mm),
        corners_proud_mm=corner - outside,
        left_outside_mm=_left_outside(ring, outside, eccentric_mm),
        left_inside_mm=_left_inside(ring, eccentric_mm),
    )


def roughest_diameter_mm(
    part: WorkedPart, rings: Sequence[str], eccentric_mm: float = 0.0
) -> float | None:
    """Over the proudest corners of these rings; None when none of them is made."""
    corners = [
        ring.corner_radius_mm
        for ring in part.rings
        if ring.id in rings and ring.corner_radius_mm is not None
    ]
    return 2 * (max(corners) + eccentric_mm) if corners else None


def _left_outside(ring: WorkedRing, outside_mm: float, eccentric_mm: float) -> float | None:
    finished = ring.finished_outside_mm
    return None if finished is None else outside_mm - eccentric_mm - finished


def _left_inside(ring: WorkedRing, eccentric_mm: float) -> float | None:
    finished = ring.finished_inside_mm
    if finished is None or finished <= 0:
        return None
    return finished - (ring.inside_mm + eccentric_mm)


def _inside_radius(part: WorkedPart, z_mm: float) -> float | None:
    if part.inside is None:
        return None
    low = lowest_hollow_mm(part)
    if low is not None and z_mm <= low + _APART_MM:
        return None
    radii = part.inside.radii_at(z_mm)
    return radii[-1] if radii and radii[-1] > _APART_MM else None


def _wall(part: WorkedPart, r_mm: float, z_mm: float) -> float | None:
    assert part.inside is not None
    void = hollow(part.outside, part.inside, part.floor_mm, _SAGITTA_MM)
    distance = float(shapely.distance(shapely.Point(r_mm, z_mm), void))
    return distance if math.isfinite(distance) else None
