"""Proposed insides: the wished wall, to a hundredth, on ordinary, rolled and random forms."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from round_forms import arc, corners, dense, random_outside, smooth

from server.craft.errors import GeometryError
from server.craft.form.curves import Curve, CurvePoint
from server.craft.form.offsets import FIT_MM, inside_offset, offset_line
from server.craft.form.walls import least_wall


def _fits(points: list[CurvePoint], line: np.ndarray) -> float:
    """How far the proposed curve strays from the offset line."""
    curve = dense(Curve.through(points), 60)
    chains = [shapely.LineString(way) for way in (curve, line)]
    shapely.prepare(chains)
    there = shapely.distance(shapely.points(curve), chains[1]).max()
    back = shapely.distance(shapely.points(line), chains[0]).max()
    return float(max(there, back))


def test_a_cup_gets_an_inside_of_its_own_form() -> None:
    points = inside_offset(corners((50, 0), (50, 100)), 5, 8)
    places = np.array([(p.r_mm, p.z_mm) for p in points])
    assert places == pytest.approx(np.array([(0, 8), (45, 8), (45, 100)]))
    assert all(point.corner for point in points)


def test_a_hemisphere_gets_a_smaller_one() -> None:
    line = offset_line(arc((0, 100), 100, -90, 0), 8, 0)
    assert np.hypot(line[:, 0], line[:, 1] - 100) == pytest.approx(
        np.full(len(line), 92.0), abs=0.005
    )
    assert line[0] == pytest.approx([0, 8], abs=0.01)
    assert line[-1] == pytest.approx([92, 100], abs=0.05)


@pytest.mark.parametrize("seed", range(200))
def test_random_forms_keep_the_wall_to_a_hundredth(seed: int) -> None:
    outside = random_outside(seed)
    rng = np.random.default_rng(seed)
    wall, floor = float(rng.uniform(2, 9)), float(rng.uniform(3, 20))
    if not _open_at_rim(outside, wall, floor):
        with pytest.raises(GeometryError) as closed:
            offset_line(outside, wall, floor)
        assert closed.value.code == "wall-too-thick"
        return
    line = offset_line(outside, wall, floor)
    # An oracle of its own: many chords, the distance of each point of the proposed inside.
    chain = shapely.LineString(dense(outside, 200))
    shapely.prepare(chain)
    far = shapely.distance(shapely.points(line), chain)
    assert far.min() >= wall - 0.01
    on_floor, top = line[:, 1] <= floor + 1e-6, outside.spans[-1, 3, 1]
    free = far > wall + 0.01
    # Where it is thicker than wished, it is the floor, or the way along the axis or the rim.
    assert (on_floor | (line[:, 0] < 1e-6) | (line[:, 1] > top - 1e-6))[free].all()
    points = inside_offset(outside, wall, floor)
    assert len(points) <= 200
    assert _fits(points, line) <= FIT_MM + 0.01
    proposed = Curve.through(points)
    assert proposed.spans[0, 0, 0] == 0
    nearest = shapely.distance(shapely.points(dense(proposed, 60)), chain).min()
    assert nearest >= wall - FIT_MM - 0.01


def _open_at_rim(outside: Curve, wall: float, floor: float) -> bool:
    """Whether a line just below the rim's level, at the axis, is clear of wall and floor."""
    top = float(outside.spans[-1, 3, 1])
    chain = shapely.LineString(dense(outside, 200))
    return top > floor + 0.01 and shapely.distance(shapely.Point(0, top), chain) > wall


def test_a_rolled_rim_keeps_its_lip() -> None:
    outside = smooth((20, 0), (45, 60), (50, 95), (46, 99), (42, 95))
    line = offset_line(outside, 3, 8)
    assert line[-1] == pytest.approx([39, 95], abs=0.05)
    chain = shapely.LineString(dense(outside))
    assert shapely.distance(shapely.points(line[1:]), chain).min() >= 2.99


def test_a_hollow_that_splits_keeps_the_part_at_the_rim() -> None:
    # A waist of 10 mm: with a wall of 12 the bulb below it cannot be reached.
    outside = smooth((30, 0), (50, 30), (10, 60), (50, 90), (60, 120))
    points = inside_offset(outside, 12, 5)
    assert min(point.z_mm for point in points) > 60
    assert Curve.through(points).is_simple


def test_a_mouth_narrower_than_the_walls_is_refused() -> None:
    with pytest.raises(GeometryError) as refused:
        inside_offset(corners((40, 0), (50, 50), (5, 100)), 6, 8)
    assert refused.value.code == "wall-too-thick"


def test_a_wall_that_tapers_is_right_at_both_ends_and_between() -> None:
    line = offset_line(corners((60, 0), (60, 100)), 10, 0, taper_to_mm=4)
    up = line[(line[:, 1] > 12) & (line[:, 1] < 95)]
    # The wall of an upright side: a straight line from 10 at the floor to 4 at the rim, of discs
    # that shrink by 6 in 100: square to the line they leave 1/√(1 − 0.06²) of their radius.
    lean = 1 / math.sqrt(1 - 0.06**2)
    for r, z in up:
        assert 60 - r == pytest.approx((10 - 0.06 * z) * lean, abs=0.02)


def test_a_tapered_proposal_has_its_least_wall_at_the_rim() -> None:
    outside = smooth((20, 0), (45, 60), (50, 95))
    spot = least_wall(outside, Curve.through(inside_offset(outside, 8, 8, taper_to_mm=4)))
    assert spot is not None
    assert spot.thickness_mm == pytest.approx(4, abs=0.05)
    assert spot.z_mm > 90


def test_points_rise_from_the_axis_to_the_rim() -> None:
    points = inside_offset(smooth((25, 0), (70, 60), (60, 110), (22, 130)), 6, 8)
    assert (points[0].r_mm, points[0].z_mm) == pytest.approx((0, 8))
    assert points[-1].z_mm == pytest.approx(130)
    assert all(a.z_mm <= b.z_mm + 1e-6 for a, b in pairwise(points))
    assert len(points) < 60
