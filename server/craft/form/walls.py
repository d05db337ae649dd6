"""How thick the wood is: the wall between the two curves, and the floor."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from server.craft.form.curves import Curve
from server.craft.form.outline import enclosed
from server.craft.form.section import fill_level, floor_level
from server.craft.form.slopes import Floats
from server.craft.form.solids import foot_radius
from server.craft.form.tolerance import PLANE_MM, SAME_POINT_MM

SAGITTA_MM = 0.002
"""How far the chords that stand for a curve may lie off it."""

LIP_GAP_MM = 0.5
"""Ends closer than this are one lip, drawn sharp or rounded, and not the top of two walls."""

LIP_MM = 3.0
"""So far from such a lip the wall is the lip's own easing and is not measured."""


@dataclass(frozen=True, slots=True)
class WallSpot:
    """Where the wood is thinnest: its thickness there and the place on the inside, mm.

    The thickness is below nothing where the inside has left the outside, by how far.
    """

    thickness_mm: float
    r_mm: float
    z_mm: float


@lru_cache(maxsize=256)
def least_wall(
    outside: Curve,
    inside: Curve,
    floor_mm: float | None = None,
    z0: float | None = None,
    z1: float | None = None,
) -> WallSpot | None:
    """Least distance, in any direction, between the wall's inside and its outside.

    The floor is no wall: neither the inside over the foot, as far as it is flatter than 45°, nor
    the outside's underside up to the foot's edge. `z0` and `z1` keep to the part of the inside
    between these heights. None where no wall is left to measure.
    """
    _, wall, outline = _measured(outside, inside, floor_mm)
    whole = z0 is None and z1 is None
    inner = wall if whole else _within(wall, z0, z1)
    fault = _faults(outside, inside, floor_mm)[1] if whole else _farthest_off(inner, outline)
    if fault is not None:
        return fault
    outer = _line(_split_underside(outside)[1])
    gap = math.dist(inside.spans[-1, 3], outside.spans[-1, 3])
    if gap <= LIP_GAP_MM:
        lip = shapely.Point(inside.spans[-1, 3]).buffer(LIP_MM)
        inner, outer = shapely.difference(inner, lip), shapely.difference(outer, lip)
    return _closest(inner, outer)


@lru_cache(maxsize=64)
def floor_thickness(
    outside: Curve, inside: Curve, floor_mm: float | None = None
) -> WallSpot | None:
    """Least distance between the floor, inside, and the underside. None without a floor."""
    floor, _, _ = _measured(outside, inside, floor_mm)
    if floor is None:
        return None
    fault, _ = _faults(outside, inside, floor_mm)
    return fault or _closest(floor, _line(_split_underside(outside)[0]))


def inside_outside_fault(
    outside: Curve, inside: Curve, floor_mm: float | None = None
) -> WallSpot | None:
    """Where the inside, floor included, lies farthest outside of the outside; None if nowhere."""
    faults = filter(None, _faults(outside, inside, floor_mm))
    return min(faults, key=lambda spot: spot.thickness_mm, default=None)


@lru_cache(maxsize=8)
def _faults(
    outside: Curve, inside: Curve, floor_mm: float | None
) -> tuple[WallSpot | None, WallSpot | None]:
    """Where the floor and where the wall lies farthest off what the outside encloses, if at all."""
    floor, wall, outline = _measured(outside, inside, floor_mm)
    return None if floor is None else _farthest_off(floor, outline), _farthest_off(wall, outline)


@lru_cache(maxsize=8)
def _measured(
    outside: Curve, inside: Curve, floor_mm: float | None
) -> tuple[shapely.Geometry | None, shapely.Geometry, shapely.Geometry]:
    """Floor, wall, and all that the outside encloses: wall, floor and fault are asked in a row."""
    outline = enclosed(outside, inside, SAGITTA_MM)
    shapely.prepare(outline)
    return *_hollow_line(outside, inside, floor_mm), outline


def _farthest_off(line: shapely.Geometry, outline: shapely.Geometry) -> WallSpot | None:
    """The point of the line that lies farthest off the outline, if one does at all."""
    if line.is_empty:
        return None
    spots = [_farthest(part, outline) for part in shapely.get_parts(line)]
    worst = min(spots, key=lambda spot: spot.thickness_mm, default=None)
    return worst if worst is not None and worst.thickness_mm < -2 * SAGITTA_MM else None


def _farthest(line: shapely.Geometry, outline: shapely.Geometry) -> WallSpot:
    """Look every millimetre, then every hundredth about the worst place."""
    for step in (1.0, 0.01):
        places = shapely.get_coordinates(shapely.segmentize(line, step))
        off = np.zeros(len(places))
        # Few places are outside as a rule, and only their distance is asked for.
        outside = ~shapely.contains_xy(outline, places)
        if outside.any():
            off[outside] = shapely.distance(shapely.points(places[outside]), outline)
        worst = int(np.argmax(off))
        if off[worst] == 0:
            break
        line = _line(places[max(worst - 1, 0) : worst + 2])
    return WallSpot(-float(off[worst]), *places[worst].tolist())


def _hollow_line(
    outside: Curve, inside: Curve, floor_mm: float | None
) -> tuple[shapely.Geometry | None, shapely.Geometry]:
    """The hollow's outline in two parts: the floor, if there is one, and the wall."""
    points = inside.polyline_within(SAGITTA_MM)
    filled = fill_level(floor_mm)
    if filled > points[0, 1]:
        points = _from_height(points, filled)
    level = floor_level(outside, inside, floor_mm)
    if not math.isfinite(level):
        return None, _line(points)
    if points[0, 0] > PLANE_MM:
        points = np.concatenate([[(0.0, level)], points])
    return _split_floor(points, foot_radius(outside))


def _split_floor(points: Floats, foot: float) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Part a hollow's outline, from the axis outward, where it steepens or leaves the foot."""
    step = points[1:] - points[:-1]
    flat = (np.abs(step[:, 1]) <= step[:, 0]) & (points[:-1, 0] < foot - PLANE_MM)
    last = len(flat) if flat.all() else int(np.argmin(flat))
    floor, wall = points[: last + 1], points[last:]
    if len(floor) > 1 and floor[-1, 0] > foot:
        share = (foot - floor[-2, 0]) / (floor[-1, 0] - floor[-2, 0])
        edge = floor[-2] + share * (floor[-1] - floor[-2])
        floor = np.concatenate([floor[:-1], [edge]])
        wall = np.concatenate([[edge], wall])
    return _line(floor), _line(wall)


@lru_cache(maxsize=8)
def _split_underside(outside: Curve) -> tuple[Floats, Floats]:
    """The outside from the axis to the edge of the foot, and the rest from there."""
    points = outside.polyline_within(SAGITTA_MM)
    lowest = np.flatnonzero(points[:, 1] <= points[:, 1].min() + PLANE_MM)
    foot = int(lowest[np.argmax(points[lowest, 0])])
    under = np.concatenate([[(0.0, points[0, 1])], points[: foot + 1]])
    return under, points[foot:]


def _from_height(points: Floats, z: float) -> Floats:
    """The line from where it last rises through the height z."""
    below = np.flatnonzero(points[:, 1] < z)
    last = int(below[-1])
    if last + 1 == len(points):
        return points[-1:]
    a, b = points[last], points[last + 1]
    cut = a + (b - a) * (z - a[1]) / (b[1] - a[1])
    return np.concatenate([[cut], points[last + 1 :]])


def _within(line: shapely.Geometry, z0: float | None, z1: float | None) -> shapely.Geometry:
    low, high = (-1e6 if z0 is None else z0), (1e6 if z1 is None else z1)
    return shapely.intersection(line, shapely.box(-1e6, low, 1e6, high))


def _line(points: Floats) -> shapely.Geometry:
    """The line through the points, or the one point that they all are."""
    step = points[1:] - points[:-1]
    apart = np.ones(len(points), dtype=bool)
    apart[1:] = np.hypot(step[:, 0], step[:, 1]) > SAME_POINT_MM
    points = points if apart.all() else points[apart]
    return shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0])


def _closest(inner: shapely.Geometry, outer: shapely.Geometry) -> WallSpot | None:
    if inner.is_empty or outer.is_empty:
        return None
    shapely.prepare(outer)  # which makes the next line many times quicker
    between = shapely.shortest_line(outer, inner)
    return WallSpot(float(shapely.length(between)), *shapely.get_coordinates(between)[1].tolist())
