"""The half section of a vessel: what closes it between its outside and its inside curve."""

from __future__ import annotations

import math
from functools import lru_cache

from server.craft.form.curves import Curve, CurvePoint
from server.craft.form.slopes import Floats
from server.craft.form.tolerance import PLANE_MM, SAME_POINT_MM


def floor_level(outside: Curve, inside: Curve, floor_mm: float | None) -> float:
    """Height (mm) up to which there is wood at the axis; −infinity for a tube open at the bottom.

    The inside curve begins at the floor: at the axis, or, away from it, at the edge of a level
    floor, unless it begins at or below the outside's lower end and so leaves the bottom open.
    `floor_mm` raises the floor further.
    """
    drawn = fill_level(floor_mm)
    r, z = inside.spans[0, 0]
    open_bottom = r > PLANE_MM and z <= outside.spans[0, 0, 1] + PLANE_MM
    return drawn if open_bottom else max(drawn, float(z))


def fill_level(floor_mm: float | None) -> float:
    """Height below which whatever the inside curve encloses is wood all the same."""
    return -math.inf if floor_mm is None else floor_mm


def is_closed_above(outside: Curve, inside: Curve) -> bool:
    """Whether the hollow has a roof: one of the curves ends at the axis.

    An inside that ends away from it then ends at the edge of a level roof.
    """
    return bool(min(inside.spans[-1, 3, 0], outside.spans[-1, 3, 0]) <= PLANE_MM)


@lru_cache(maxsize=64)
def rim_line(outside: Curve, inside: Curve) -> Curve | None:
    """The straight line from the inside's upper end to the outside's.

    None where they meet, where the hollow is closed at the top, and where the rim is level: between
    two heights there is nothing of it. The same two curves have the same line, which so keeps its
    cuts.
    """
    if is_closed_above(outside, inside):
        return None
    return _line(inside.spans[-1, 3], outside.spans[-1, 3])


@lru_cache(maxsize=64)
def foot_line(outside: Curve, inside: Curve, floor_mm: float | None) -> Curve | None:
    """The straight line from a bottomless tube's inside to its outside at the lower end.

    None where it is level, like the rim's.
    """
    if math.isfinite(floor_level(outside, inside, floor_mm)):
        return None
    return _line(inside.spans[0, 0], outside.spans[0, 0])


def _line(start: Floats, end: Floats) -> Curve | None:
    (r0, z0), (r1, z1) = start, end
    if math.hypot(r1 - r0, z1 - z0) <= SAME_POINT_MM or abs(z1 - z0) <= 2 * PLANE_MM:
        return None
    return Curve.through([CurvePoint(float(r0), float(z0)), CurvePoint(float(r1), float(z1))])
