"""Whose wood a finished ring is: its segments, the spacers between them, the plug in its centre.

All by definition. Seen from above a segment of half angle h whose faces lie t/2 beside the radial
planes of its joints reaches, at the radius r, over the angle 2h − 2·asin(t/2r): from its tip, where
that is nothing, outward. Unequal segments have unequal tips, so that the hole which they leave
about the axis is no circle.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache

import numpy as np

from server.craft.form.slopes import Floats
from server.craft.form.solids import Solid, section_integrals
from server.craft.records import record
from server.craft.rings.angles import Angles
from server.craft.rings.shapes import RingGeometry
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing


@record
class Division:
    """How a ring's turn is divided. Angles in radians, one `halves` entry for each different one.

    `shift_mm` is how far joint faces lie beside the radial plane, `gap_half` half of a wedge gap.
    """

    halves: tuple[float, ...]
    gap_half: float
    shift_mm: float
    plug_mm: float

    @property
    def starts_mm(self) -> tuple[float, ...]:
        """From which radius on each kind of segment has wood: its tip, or the plug's edge."""
        tips = (self.shift_mm / math.sin(half) if self.shift_mm else 0.0 for half in self.halves)
        return tuple(max(tip, self.plug_mm) for tip in tips)

    @property
    def reach_mm(self) -> float:
        """From which radius on all segments have wood, and strips lie between them."""
        return max(self.starts_mm)

    @property
    def is_plain(self) -> bool:
        """Whether every segment is a plain wedge from the axis on."""
        return not (self.shift_mm or self.plug_mm)

    def areas(self, r: Floats) -> Floats:
        """Within the radius r: one segment of each kind, one strip between two, the plug."""
        rows = []
        for half, start in zip(self.halves, self.starts_mm, strict=True):
            far = np.maximum(r, start)
            wedge = max(0.0, half - self.gap_half) * (far**2 - start**2)
            rows.append(wedge - _strip(far, self.shift_mm) + _strip(start, self.shift_mm))
        far = np.maximum(r, self.reach_mm)
        rows.append(_strip(far, self.shift_mm) - _strip(self.reach_mm, self.shift_mm))
        rows.append(math.pi * np.minimum(r, self.plug_mm) ** 2)
        return np.stack(rows)


def _strip(r: Floats | float, half_mm: float) -> Floats:
    """Area of a strip along a radius, on one side of the axis, inside the circle of radius r."""
    radius = np.asarray(r, dtype=float)
    if not half_mm:
        return np.zeros_like(radius)
    area: Floats = radius**2 * np.arcsin(half_mm / radius)
    area += half_mm * np.sqrt(radius**2 - half_mm**2)
    return area


def division(shape: RingGeometry | None, plug_mm: float) -> Division:
    """The division of a ring with a plug of that diameter; without `shape` it is one disc."""
    if shape is None:
        return Division((math.pi,), 0.0, 0.0, plug_mm / 2)
    halves = _different(shape.halves)
    gap = math.radians(shape.gap_angle_deg) / 2
    return Division(halves, gap, shape.joint_shift_mm, plug_mm / 2)


@lru_cache(maxsize=1024)
def _different(halves_deg: Angles) -> tuple[float, ...]:
    """The different half angles in radians, rising."""
    return tuple(np.radians(halves_deg.different).tolist())


def open_centre_mm(shape: RingGeometry, plug_mm: float) -> float:
    """Radius of the round hole as large as what spacers leave open about the axis.

    The plug, which may stand in it, counts as open. 0 where the segments meet at the axis.
    """
    made = division(shape, plug_mm)
    if not made.shift_mm:
        return 0.0
    counts = Counter(np.radians(shape.halves_deg).tolist())
    areas = made.areas(np.array([made.reach_mm]))[:, 0]
    wood = sum(counts[half] * area for half, area in zip(made.halves, areas, strict=False))
    return math.sqrt(max(0.0, made.reach_mm**2 - wood / math.pi))


def wood_volumes(
    part: WorkedPart, planes: Sequence[float], solids: Sequence[Solid]
) -> Iterator[Mapping[str, float]]:
    """Volume (mm³) of each wood in each finished ring of a part; open joints hold none."""
    made = [division(*_drawn(ring)) for ring in part.rings]
    totals = {
        one: section_integrals(part.outside, part.inside, part.floor_mm, planes, _integrand(one))
        for one in set(made)
        if not one.is_plain
    }
    for ring, solid, one in zip(part.rings, solids, made, strict=True):
        if one.is_plain:
            wedges = [max(0.0, half - one.gap_half) / math.pi for half in one.halves]
            volumes = [*(solid.volume_mm3 * share for share in wedges), 0.0, 0.0]
        else:
            volumes = totals[one][:, ring.index].tolist()
        yield _by_wood(part, ring, one, volumes)


def _drawn(ring: WorkedRing) -> tuple[RingGeometry | None, float]:
    shape = ring.flat or (ring.stave.big_end if ring.stave else None)
    return shape, ring.ring.plug.diameter_mm if ring.ring.plug else 0.0


def _integrand(one: Division) -> Callable[[Floats, Floats], Floats]:
    return lambda r, _z: one.areas(r)


@lru_cache(maxsize=1024)
def _wedges(woods: tuple[str, ...], halves_deg: Angles | None) -> Mapping[tuple[str, float], int]:
    """How many segments have each wood and half angle (radians); without angles it is one disc."""
    if halves_deg is None:
        return {(woods[0], math.pi): 1}
    return Counter(zip(woods, np.radians(halves_deg).tolist(), strict=False))


def _by_wood(
    part: WorkedPart, ring: WorkedRing, one: Division, volumes: Sequence[float]
) -> Mapping[str, float]:
    """Segments in their own wood, spacers and plug in theirs."""
    shape, _ = _drawn(ring)
    woods: dict[str, float] = defaultdict(float)
    of_half = dict(zip(one.halves, volumes, strict=False))
    for (wood, half), count in _wedges(ring.woods, shape.halves if shape else None).items():
        woods[wood] += count * of_half[half]
    own, drawn = part.part.own_wood, ring.ring
    if drawn.spacer is not None and shape is not None:
        woods[drawn.spacer.wood or own] += drawn.segments * volumes[-2]
    if drawn.plug is not None:
        woods[drawn.plug.wood or own] += volumes[-1]
    return woods
