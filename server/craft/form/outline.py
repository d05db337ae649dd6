"""The half section as polygons, for pictures, meshes and offsets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import ArrayLike

from server.craft.form.curves import Curve
from server.craft.form.section import fill_level, floor_level, is_closed_above
from server.craft.form.tolerance import PLANE_MM, SAME_POINT_MM


def enclosed(outside: Curve, inside: Curve | None, sagitta_mm: float) -> shapely.Geometry:
    """All that the outside encloses, up to the rim and down to an open bottom, from the axis."""
    line = outside.polyline_within(sagitta_mm)
    start, end = [(0.0, line[0, 1])], [(0.0, line[-1, 1])]
    if inside is not None:
        foot, rim = inside.spans[0, 0], inside.spans[-1, 3]
        if not math.isfinite(floor_level(outside, inside, None)) and foot[1] < line[0, 1]:
            start = [(0.0, foot[1]), tuple(foot)]
        if rim[1] > line[-1, 1]:
            end = [tuple(rim), (0.0, rim[1])]
    return _filled([start, line, end])


def hollow(
    outside: Curve, inside: Curve, floor_mm: float | None, sagitta_mm: float
) -> shapely.Geometry:
    """All that is turned away inside, up to the level of the rim, from the axis."""
    line = inside.polyline_within(sagitta_mm)
    start, end = [(0.0, line[0, 1])], [(0.0, line[-1, 1])]
    foot, rim = outside.spans[0, 0], outside.spans[-1, 3]
    if not math.isfinite(floor_level(outside, inside, floor_mm)) and foot[1] < line[0, 1]:
        start = [(0.0, foot[1]), tuple(foot)]
    if rim[1] > line[-1, 1] and not is_closed_above(outside, inside):
        end = [tuple(rim), (0.0, rim[1])]
    void = _filled([start, line, end])
    filled = fill_level(floor_mm)
    if not math.isfinite(filled):
        return void
    r, z = float(void.bounds[2]) + 1, float(void.bounds[3]) + 1
    return shapely.intersection(void, shapely.box(0.0, filled, r, max(z, filled)))


def _filled(edge: Sequence[ArrayLike]) -> shapely.Geometry:
    """What a closed line, given in pieces, encloses.

    Edges without length would make distances to it no numbers.
    """
    corners = np.concatenate([np.asarray(piece, dtype=float) for piece in edge])
    polygon = shapely.remove_repeated_points(shapely.polygons(corners), SAME_POINT_MM)
    return polygon if polygon.is_valid else shapely.make_valid(polygon)


@lru_cache(maxsize=32)
def half_section(
    outside: Curve, inside: Curve | None, floor_mm: float | None, sagitta_mm: float = 0.01
) -> shapely.Geometry:
    """The wood of the finished form, right of the axis; chords are off by `sagitta_mm` at most."""
    wood = enclosed(outside, inside, sagitta_mm)
    if inside is None:
        return wood
    return shapely.difference(wood, hollow(outside, inside, floor_mm, sagitta_mm))


def ring_sections(section: shapely.Geometry, planes: Sequence[float]) -> list[shapely.Geometry]:
    """The part of the section in each slab between neighbouring planes (mm, rising)."""
    reach = float(section.bounds[2]) + 1 if not section.is_empty else 1.0
    slabs = [shapely.box(0.0, low, reach, high) for low, high in pairwise(planes)]
    return list(shapely.intersection(section, slabs))


def polygons(geometry: shapely.Geometry) -> list[shapely.Polygon]:
    """The polygons of a geometry, without what has no area."""
    parts = shapely.get_parts(geometry)
    return [part for part in parts if part.geom_type == "Polygon" and part.area > PLANE_MM]
