"""A proposed inside: the curve that leaves a wall of a wished thickness."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from server.craft.errors import GeometryError
from server.craft.form.curves import Curve, CurvePoint
from server.craft.form.outline import enclosed, polygons
from server.craft.form.slopes import Floats
from server.craft.form.walls import SAGITTA_MM

FIT_MM = 0.02
"""How far the proposed curve may stray from the true offset."""

CORNER_DEG = 12.0
"""An offset line that turns more than this at a point has a corner there."""

STRAIGHT_MM = 4.0
"""A chord this long is a straight piece: an arc of less than 2 m radius has shorter ones."""

MOST_POINTS = 200

_ARC = 64
"""Chords in a quarter of a round end of the offset; at a 20 mm wall they are off by 0.0015 mm."""


def inside_offset(
    outside: Curve, wall_mm: float, floor_mm: float, taper_to_mm: float | None = None
) -> list[CurvePoint]:
    """Points of an inside curve with this wall, from the axis at `floor_mm` to the rim.

    With `taper_to_mm` the wall changes evenly with the height, from `wall_mm` at the floor to that
    at the outside's upper end. GeometryError `wall-too-thick` where nothing stays open at the rim.
    """
    return _fitted(offset_line(outside, wall_mm, floor_mm, taper_to_mm))


def offset_line(
    outside: Curve, wall_mm: float, floor_mm: float, taper_to_mm: float | None = None
) -> Floats:
    """The inside as a chain of short chords (n, 2), from the axis at the floor to the rim.

    It is the edge of all that lies farther than the wall from every point of the outside, above
    the floor and below the level of the outside's end, as far as it can be reached from the rim.
    """
    line = outside.polyline_within(SAGITTA_MM)
    top = float(line[-1, 1])
    wood = _taper(line, wall_mm, taper_to_mm, floor_mm) if taper_to_mm else _even(line, wall_mm)
    space = shapely.difference(enclosed(outside, None, SAGITTA_MM), wood)
    space = shapely.intersection(space, shapely.box(0.0, floor_mm, 1e6, 1e6))
    mouth = shapely.Point(0.0, top)
    open_parts = [part for part in polygons(space) if part.distance(mouth) <= SAGITTA_MM]
    if not open_parts:
        raise GeometryError(
            "wall-too-thick", f"With a wall of {wall_mm:g} mm nothing stays open at the rim."
        )
    return _from_axis_to_rim(open_parts[0], top)


def _even(line: Floats, wall: float) -> shapely.Geometry:
    return shapely.buffer(shapely.LineString(line), wall, quad_segs=_ARC)


def _taper(line: Floats, wall: float, at_end: float, floor: float) -> shapely.Geometry:
    """Discs about the points of the line, each pair of neighbours stretched into one shape."""
    share = np.clip((line[:, 1] - floor) / max(line[-1, 1] - floor, 1e-9), 0.0, 1.0)
    discs = shapely.buffer(shapely.points(line), wall + share * (at_end - wall), quad_segs=_ARC)
    pairs = shapely.multipolygons(np.stack([discs[:-1], discs[1:]], axis=1))
    return shapely.union_all(shapely.convex_hull(pairs))


def _from_axis_to_rim(space: shapely.Polygon, top: float) -> Floats:
    """The edge of the hollow without the axis and without the level of the rim."""
    ring: Floats = shapely.get_coordinates(shapely.orient_polygons(space).exterior)[:-1]
    # Counter-clockwise, the edge comes down the axis and leaves it at the lowest point.
    on_axis = np.flatnonzero(ring[:, 0] <= 1e-9)
    start = int(on_axis[np.argmin(ring[on_axis, 1])])
    ring = np.roll(ring, -start, axis=0)
    at_top = np.flatnonzero(np.abs(ring[:, 1] - top) <= 1e-9)
    first = at_top[at_top > 0][0]
    return ring[: int(first) + 1]


def _fitted(line: Floats) -> list[CurvePoint]:
    """Few points, found greedily, whose curve stays within FIT_MM of the line."""
    line = shapely.get_coordinates(shapely.LineString(line).simplify(SAGITTA_MM / 2))
    line, corner = _filled(line, _corners(line))
    kept = np.flatnonzero(corner)
    targets = shapely.points(line)
    while True:
        points = [_point(line[i], bool(corner[i])) for i in kept]
        chain = shapely.LineString(Curve.through(points).polyline_within(SAGITTA_MM))
        shapely.prepare(chain)
        off = shapely.distance(targets, chain)
        if off.max() <= FIT_MM or len(kept) >= MOST_POINTS:
            return points
        # In every span that strays, its worst point becomes a point of the curve.
        spans = [range(a + 1, b) for a, b in pairwise(kept.tolist()) if b > a + 1]
        worst = [max(span, key=lambda i: float(off[i])) for span in spans]
        kept = np.union1d(kept, [i for i in worst if off[i] > FIT_MM])


def _filled(line: Floats, corner: NDArray[np.bool_]) -> tuple[Floats, NDArray[np.bool_]]:
    """The line with points every millimetre at least, none of the new ones a corner."""
    count = np.ceil(np.hypot(*np.diff(line, axis=0).T)).astype(int).clip(min=1)
    share = np.concatenate([np.arange(n) / n for n in count])
    start = np.repeat(np.arange(len(count)), count)
    filled = line[start] + share[:, None] * np.diff(line, axis=0)[start]
    marked = corner[start] & (share == 0)
    return np.concatenate([filled, line[-1:]]), np.append(marked, True)


def _point(place: Floats, corner: bool) -> CurvePoint:
    return CurvePoint(float(place[0]), float(place[1]), corner)


def _corners(line: Floats) -> NDArray[np.bool_]:
    """Which points are ends, corners, or ends of straight pieces, in a line of short chords."""
    step = np.diff(line, axis=0)
    way = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    corner = np.ones(len(line), dtype=bool)
    corner[1:-1] = np.abs(np.diff(way)) > np.radians(CORNER_DEG)
    straight = np.hypot(*step.T) >= STRAIGHT_MM
    corner[:-1] |= straight
    corner[1:] |= straight
    return corner
