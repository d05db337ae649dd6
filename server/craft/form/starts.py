"""Starting forms: families of profiles of our own, each set by height, diameter and wall.

A family's points are shares of the greatest radius and of the height. They are drawn by us and
follow no published vessel.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from server.craft.errors import CraftError
from server.craft.form.curves import Curve, CurvePoint
from server.craft.form.offsets import offset_line

Shares = tuple[tuple[float, float, bool], ...]
"""(share of radius, share of height, corner) from bottom to top."""


_STRAY_SHARE = 0.12
"""How much of the wall the inside may lie beside its true place, for fewer points."""

_MOST_ADDED = 16
_SAMPLES = 240


@dataclass(frozen=True, slots=True)
class Family:
    """One starting form. `floor_share` is the floor over the wall thickness; None is a solid."""

    id: str
    name: str
    outside: Shares
    height_mm: float
    diameter_mm: float
    wall_mm: float
    floor_share: float | None


@dataclass(frozen=True, slots=True)
class StartingForm:
    """The two curves of a form, ready to become a part's profile."""

    outside: tuple[CurvePoint, ...]
    inside: tuple[CurvePoint, ...] | None


_C, _S = True, False
FAMILIES: Mapping[str, Family] = {
    family.id: family
    for family in (
        Family(
            "bowl",
            "Bowl",
            (
                (0.44, 0.0, _C),
                (0.46, 0.05, _S),
                (0.72, 0.27, _S),
                (0.89, 0.54, _S),
                (0.97, 0.79, _S),
                (1.0, 1.0, _C),
            ),
            100.0,
            240.0,
            7.0,
            1.7,
        ),
        Family(
            "deep-bowl",
            "Deep bowl",
            (
                (0.45, 0.0, _C),
                (0.55, 0.07, _S),
                (0.85, 0.3, _S),
                (0.985, 0.58, _S),
                (1.0, 0.76, _S),
                (0.95, 1.0, _C),
            ),
            150.0,
            200.0,
            7.0,
            1.7,
        ),
        Family(
            "vase",
            "Vase",
            (
                (0.52, 0.0, _C),
                (0.56, 0.03, _S),
                (0.88, 0.3, _S),
                (1.0, 0.53, _S),
                (0.78, 0.77, _S),
                (0.42, 0.91, _S),
                (0.55, 1.0, _C),
            ),
            220.0,
            150.0,
            6.0,
            2.0,
        ),
        Family(
            "urn",
            "Urn",
            (
                (0.5, 0.0, _C),
                (0.52, 0.035, _S),
                (0.44, 0.085, _S),
                (0.83, 0.36, _S),
                (1.0, 0.6, _S),
                (0.86, 0.81, _S),
                (0.56, 0.92, _S),
                (0.68, 1.0, _C),
            ),
            190.0,
            170.0,
            6.0,
            2.0,
        ),
        Family(
            "platter",
            "Platter",
            (
                (0.4, 0.0, _C),
                (0.43, 0.12, _S),
                (0.7, 0.38, _S),
                (0.9, 0.72, _S),
                (1.0, 1.0, _C),
            ),
            36.0,
            280.0,
            7.0,
            1.2,
        ),
        Family(
            "goblet-base",
            "Goblet base",
            (
                (0.96, 0.0, _C),
                (1.0, 0.09, _S),
                (0.9, 0.21, _S),
                (0.55, 0.44, _S),
                (0.38, 0.7, _S),
                (0.35, 0.88, _S),
                (0.39, 1.0, _C),
            ),
            38.0,
            76.0,
            7.0,
            None,
        ),
        Family(
            "stem",
            "Stem",
            (
                (0.96, 0.0, _C),
                (0.66, 0.08, _S),
                (0.5, 0.33, _S),
                (0.62, 0.43, _S),
                (0.86, 0.49, _S),
                (0.62, 0.55, _S),
                (0.52, 0.66, _S),
                (0.66, 0.9, _S),
                (1.0, 1.0, _C),
            ),
            88.0,
            25.0,
            5.0,
            None,
        ),
        Family(
            "goblet-bowl",
            "Goblet bowl",
            (
                (0.31, 0.0, _C),
                (0.38, 0.05, _S),
                (0.61, 0.17, _S),
                (0.84, 0.34, _S),
                (0.98, 0.57, _S),
                (1.0, 0.79, _S),
                (0.95, 1.0, _C),
            ),
            108.0,
            92.0,
            4.5,
            6.0,
        ),
    )
}


def starting_form(
    family_id: str,
    height_mm: float | None = None,
    diameter_mm: float | None = None,
    wall_mm: float | None = None,
) -> StartingForm:
    """The curves of a family at a size; what is left out is the family's own.

    Raises CraftError for an unknown family, GeometryError where the wall leaves nothing open.
    """
    family = FAMILIES.get(family_id)
    if family is None:
        raise CraftError(f"There is no starting form “{family_id}”.")
    height = family.height_mm if height_mm is None else height_mm
    radius = (family.diameter_mm if diameter_mm is None else diameter_mm) / 2
    wall = family.wall_mm if wall_mm is None else wall_mm
    outside = tuple(
        CurvePoint(round(r * radius, 2), round(z * height, 2), corner)
        for r, z, corner in family.outside
    )
    if family.floor_share is None:
        return StartingForm(outside, None)
    floor = wall * family.floor_share
    if floor >= height:
        raise CraftError("The floor would be as thick as the whole height. Make the wall thinner.")
    return StartingForm(outside, few_inside_points(outside, wall, floor))


def few_inside_points(
    outside: Sequence[CurvePoint], wall_mm: float, floor_mm: float
) -> tuple[CurvePoint, ...]:
    """An inside with about as many points as the outside, each a wall away from one of them.

    Few enough to be pulled about by hand; between its points the wall may differ a little from
    what was asked, which the wall check measures. Raises GeometryError as `offset_line` does.
    """
    line = offset_line(Curve.through(outside), wall_mm, floor_mm)
    edge = shapely.LineString(line)
    knots = shapely.points([(p.r_mm, p.z_mm) for p in outside])
    along = np.unique(np.round(shapely.line_locate_point(edge, knots), 3))
    floor_edge = float(np.hypot(*(line[1] - line[0]))) if line[1, 1] == line[0, 1] else 0.0
    kept = [0.0, floor_edge] if floor_edge else [0.0]
    kept += [at for at in along if at > kept[-1] + wall_mm and at < edge.length - wall_mm / 2]
    kept.append(edge.length)
    corners = {0.0, edge.length} | ({floor_edge} if floor_edge else set())
    points = _inside_through(edge, kept, corners)
    for _ in range(_MOST_ADDED):
        worst = _strays_most(edge, points, wall_mm * _STRAY_SHARE)
        if worst is None:
            break
        kept = sorted([*kept, worst])
        points = _inside_through(edge, kept, corners)
    return points


def _inside_through(
    edge: shapely.LineString, along: Sequence[float], corners: set[float]
) -> tuple[CurvePoint, ...]:
    places = shapely.get_coordinates(shapely.line_interpolate_point(edge, along))
    return tuple(
        CurvePoint(round(float(r), 2), round(float(z), 2), at in corners)
        for at, (r, z) in zip(along, places, strict=True)
    )


def _strays_most(
    edge: shapely.LineString, points: Sequence[CurvePoint], allowed_mm: float
) -> float | None:
    """Where along the true line the curve through the points is farthest off, if too far."""
    at = np.linspace(0.0, edge.length, _SAMPLES)
    curve = shapely.LineString(Curve.through(points).polyline(16))
    off = shapely.distance(curve, shapely.line_interpolate_point(edge, at))
    worst = int(np.argmax(off))
    return float(at[worst]) if off[worst] > allowed_mm else None
