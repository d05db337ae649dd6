"""The finished radii of each ring: extremes of the profile inside the ring's slab."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from server.craft.form.curves import Curve
from server.craft.form.cuts import cut_curve
from server.craft.form.section import (
    fill_level,
    floor_level,
    foot_line,
    is_closed_above,
    rim_line,
)
from server.craft.form.slopes import Floats
from server.craft.form.tolerance import PLANE_MM
from server.craft.records import record

Surface = Literal["outside", "inside"]


@dataclass(frozen=True, slots=True)
class Shoulder:
    """A level part of the form that lies on a glue plane.

    It belongs to the ring whose wood it is cut in; `ring_below` says whether that is the ring under
    the plane or the one over it.
    """

    surface: Surface
    z_mm: float
    inner_radius_mm: float
    outer_radius_mm: float
    ring_below: bool


@record
class SlabRadii:
    """Greatest outside and least inside radius (mm) in a slab, and the shoulders on its planes.

    `outside_mm` is None where the form does not reach the slab at all; `inside_mm` is 0 where the
    ring must be solid.
    """

    outside_mm: float | None
    inside_mm: float
    shoulders: tuple[Shoulder, ...] = ()


def ring_radii(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes: Sequence[float]
) -> list[SlabRadii]:
    """Finished radii for the slabs between neighbouring `planes` (mm, rising).

    Extremes are taken within the open slab with the limits at its faces: a shoulder or floor that
    lies on a plane is seen by the ring it is cut in only. Planes within 1e-6 mm of a point of a
    curve go through it. Where one curve ends lower than the other, the straight line between the
    two ends closes the rim, and in the same way the foot of a bottomless tube.
    """
    return list(_ring_radii(outside, inside, floor_mm, tuple(planes)))


@lru_cache(maxsize=64)
def _ring_radii(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes: tuple[float, ...]
) -> tuple[SlabRadii, ...]:
    levels = np.asarray(planes, dtype=float)
    greatest = _outside_radii(outside, inside, floor_mm, levels).tolist()
    least = _inside_radii(outside, inside, floor_mm, levels).tolist()
    shoulders: dict[int, list[Shoulder]] = defaultdict(list)
    for plane, shoulder in _shoulders(outside, inside, floor_mm, levels):
        shoulders[plane - 1 if shoulder.ring_below else plane].append(shoulder)
    return tuple(
        SlabRadii(None if math.isnan(big) else big, small, tuple(shoulders.get(i, ())))
        for i, (big, small) in enumerate(zip(greatest, least, strict=True))
    )


def _outside_radii(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes: Floats
) -> Floats:
    """Greatest outside radius in each slab; of the line that closes the rim beyond its end."""
    _, greatest = cut_curve(outside, planes).slab_extremes()
    if inside is None:
        return greatest
    for line in (rim_line(outside, inside), foot_line(outside, inside, floor_mm)):
        if line is not None:
            _, closing = cut_curve(line, planes).slab_extremes()
            greatest = np.where(np.isnan(greatest), closing, greatest)
    return greatest


def _inside_radii(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes: Floats
) -> Floats:
    """Least inside radius in each slab; 0 where there is wood at the axis."""
    solid = np.zeros(len(planes) - 1)
    if inside is None:
        return solid
    floor = floor_level(outside, inside, floor_mm)
    # Below a floor that is set the curve counts for nothing: it is cut from there upward.
    filled = np.maximum(planes, fill_level(floor_mm))
    least, _ = cut_curve(inside, filled).slab_extremes()
    for line in (rim_line(outside, inside), foot_line(outside, inside, floor_mm)):
        if line is not None:
            closing, _ = cut_curve(line, planes).slab_extremes()
            least = np.where(np.isnan(least), closing, least)
    above_floor = planes[:-1] >= floor - PLANE_MM
    below_roof = np.ones_like(above_floor)
    if is_closed_above(outside, inside):
        below_roof = planes[1:] <= inside.spans[-1, 3, 1] + PLANE_MM
    return np.where(above_floor & below_roof, np.nan_to_num(least, nan=0.0), solid)


def _shoulders(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes: Floats
) -> list[tuple[int, Shoulder]]:
    """Every level part on an inner plane, with the number of that plane."""
    found = _level_parts(outside, "outside")
    if inside is not None:
        floor, filled = floor_level(outside, inside, floor_mm), fill_level(floor_mm)
        found += [s for s in _level_parts(inside, "inside") if s.z_mm >= filled - PLANE_MM]
        radius = max(inside.radii_at(floor), default=0.0) if np.isfinite(floor) else 0.0
        drawn = any(abs(s.z_mm - floor) <= PLANE_MM for s in found if s.surface == "inside")
        if radius > PLANE_MM and not drawn:
            found.append(Shoulder("inside", float(floor), 0.0, radius, True))
    inner = planes[1:-1]
    return [
        (int(k) + 1, s) for s in found for k in np.flatnonzero(np.abs(inner - s.z_mm) <= PLANE_MM)
    ]


def _level_parts(curve: Curve, surface: Surface) -> list[Shoulder]:
    """The level spans. Walking upward the wood is left of the outside and right of the inside."""
    parts = []
    for (r0, z0), (r1, z1) in curve.spans[:, (0, 3)].tolist():
        if abs(z1 - z0) <= 2 * PLANE_MM:
            outward = r1 > r0
            below = outward if surface == "inside" else not outward
            near, far = sorted((r0, r1))
            parts.append(Shoulder(surface, z0, near, far, below))
    return parts
