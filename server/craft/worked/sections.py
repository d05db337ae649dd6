"""The half section of a part along its axis: how deep a hole finds wood."""

import numpy as np

from server.craft.form.curves import Curve
from server.craft.form.section import floor_level


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
