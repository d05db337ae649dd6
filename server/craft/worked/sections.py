"""The half section of a part cut level: faces at a glue plane, solid depth along the axis."""

from collections.abc import Sequence

import numpy as np

from server.craft.form.curves import Curve
from server.craft.form.cuts import cut_curve
from server.craft.form.section import floor_level, rim_line
from server.craft.form.tolerance import PLANE_MM

Bands = tuple[tuple[float, float], ...]
"""Radial bands of wood, each from an inner to an outer radius in mm, ascending."""

_BESIDE_MM = 4 * PLANE_MM
"""How far beside a plane is looked, so that a shoulder on it belongs to one side only."""


def face_bands(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes_mm: Sequence[float]
) -> list[Bands]:
    """The wood that both neighbours have at each glue plane, planes ascending."""
    beside = np.array([z + side * _BESIDE_MM for z in planes_mm for side in (-1, 1)])
    crossings = _crossings(outside, beside)
    if inside is not None:
        hollow = _crossings(inside, beside)
        rim = rim_line(outside, inside)
        if rim is not None:
            rim_cuts = _crossings(rim, beside)
            crossings = [sorted(a + b) for a, b in zip(crossings, rim_cuts, strict=True)]
        floor = floor_level(outside, inside, floor_mm)
        crossings = [
            sorted(outer + (inner if z >= floor else []))
            for outer, inner, z in zip(crossings, hollow, beside, strict=True)
        ]
    solid = [_between(radii) for radii in crossings]
    return [_common(solid[i], solid[i + 1]) for i in range(0, len(solid), 2)]


def _crossings(curve: Curve, heights: np.ndarray) -> list[list[float]]:
    ends = curve.spans[:, (0, 3), 1]
    low, high = ends.min(axis=1)[:, None], ends.max(axis=1)[:, None]
    met = (low <= heights) & (heights < high)
    radius = cut_curve(curve, heights).radius
    return [sorted(radius[met[:, k], k].tolist()) for k in range(len(heights))]


def _between(radii: Sequence[float]) -> Bands:
    edges = [0.0, *radii] if len(radii) % 2 else list(radii)
    return tuple(zip(edges[::2], edges[1::2], strict=True))


def _common(below: Bands, above: Bands) -> Bands:
    both = [(max(a[0], b[0]), min(a[1], b[1])) for a in below for b in above]
    return tuple(sorted(band for band in both if band[1] > band[0]))


def solid_depth_mm(
    outside: Curve, inside: Curve | None, floor_mm: float | None, radius_mm: float, *, top: bool
) -> float:
    """How deep a round hole of this radius can go from one end before it meets air, in mm."""
    _, z0, _, z1 = outside.bounds
    if top:
        if inside is not None:
            return 0.0
        return z1 - _reach(outside, radius_mm, from_top=False)
    ceiling = _reach(outside, radius_mm, from_top=True)
    if inside is not None:
        points = inside.polyline(256)
        near = points[points[:, 0] <= radius_mm, 1]
        lowest = float(near.min()) if near.size else np.inf
        floor = floor_level(outside, inside, floor_mm)
        ceiling = z0 if floor == -np.inf else max(floor, min(lowest, float(points[0, 1])))
    return ceiling - z0


def _reach(outside: Curve, radius_mm: float, *, from_top: bool) -> float:
    """The height of the outside near the axis at its far end: a hollowed foot, a closed top."""
    points = outside.polyline(256)
    if from_top:
        points = points[::-1]
    _, z0, _, z1 = outside.bounds
    wide = np.flatnonzero(points[:, 0] > radius_mm)
    near = points[: int(wide[0])] if wide.size else points[:1]
    if not near.size:
        return z1 if from_top else z0
    return float(near[:, 1].min() if from_top else near[:, 1].max())
