"""How deep a round hole along the axis finds wood."""

from __future__ import annotations

from functools import lru_cache

import shapely

from server.craft.form.curves import Curve
from server.craft.form.outline import half_section, polygons
from server.craft.form.tolerance import PLANE_MM
from server.craft.form.walls import SAGITTA_MM


@lru_cache(maxsize=64)
def solid_depth_mm(
    outside: Curve, inside: Curve | None, floor_mm: float | None, radius_mm: float, *, top: bool
) -> float:
    """How deep a hole of this radius can go from one end of the form before it meets air, mm.

    A foot hollowed about the axis is passed: the depth counts from the plane of the form's end.
    Nothing where the end is narrower than the hole, open, or a vessel's mouth.
    """
    _, low, _, high = outside.bounds
    if top and inside is not None:
        return 0.0
    bore = shapely.box(0.0, low, radius_mm, high)
    section = half_section(outside, inside, floor_mm, SAGITTA_MM)
    depth = high - low
    passed = 0.0
    for begins, ends, reaches_axis in _gaps(bore, section, top=top):
        if begins > PLANE_MM:
            depth = min(depth, begins)
        elif reaches_axis:
            passed = max(passed, ends)
        else:
            depth = 0.0
    return depth if passed < depth - PLANE_MM else 0.0


def _gaps(
    bore: shapely.Geometry, section: shapely.Geometry, *, top: bool
) -> list[tuple[float, float, bool]]:
    """Each piece of air in the bore: where it begins and ends, and whether it has the axis."""
    _, low, _, high = bore.bounds
    found = []
    for piece in polygons(shapely.difference(bore, section)):
        inner, bottom, _, upper = piece.bounds
        begins, ends = (high - upper, high - bottom) if top else (bottom - low, upper - low)
        found.append((begins, ends, bool(inner <= PLANE_MM)))
    return found
