"""Walls and floors against forms of known thickness and against shapely."""

import math

import numpy as np
import pytest
import shapely
from round_forms import arc, chained, corners, dense, moved_in, random_outside, smooth

from server.craft.form.curves import Curve
from server.craft.form.walls import floor_thickness, inside_outside_fault, least_wall

_CUP = corners((50, 0), (50, 100))


def _thickness(outside: Curve, inside: Curve, floor: float | None = None) -> float:
    spot = least_wall(outside, inside, floor)
    assert spot is not None
    return spot.thickness_mm


def _floor(outside: Curve, inside: Curve, floor: float | None = None) -> float:
    spot = floor_thickness(outside, inside, floor)
    assert spot is not None
    return spot.thickness_mm


def test_a_cup_has_its_wall_and_its_floor() -> None:
    inside = corners((0, 3), (45, 3), (45, 100))
    assert _thickness(_CUP, inside) == pytest.approx(5)
    assert _floor(_CUP, inside) == pytest.approx(3)


def test_a_drawn_underside_changes_neither() -> None:
    inside = corners((0, 3), (45, 3), (45, 100))
    outside = corners((0, 0), (50, 0), (50, 100))
    assert _thickness(outside, inside) == pytest.approx(5)
    assert _floor(outside, inside) == pytest.approx(3)


def test_a_cone_is_as_thick_as_its_normal_is_long() -> None:
    outside, inside = corners((20, 0), (80, 60)), corners((0, 10), (20, 10), (70, 60))
    # Both walls lean by 45°, 10 mm apart level: the point of the inside nearest to the outside.
    assert _thickness(outside, inside) == pytest.approx(10 * math.sin(math.pi / 4))


def test_a_hemisphere_is_as_thick_all_over() -> None:
    outside, inside = arc((0, 100), 100, -90, 0), arc((0, 100), 92, -90, 0)
    assert _thickness(outside, inside) == pytest.approx(8, abs=0.005)
    assert _floor(outside, inside) == pytest.approx(8, abs=0.005)


def test_the_thinnest_place_is_named() -> None:
    inside = corners((0, 20), (40, 20), (47, 60), (40, 100))
    spot = least_wall(_CUP, inside)
    assert spot is not None
    assert (spot.thickness_mm, spot.r_mm, spot.z_mm) == pytest.approx((3, 47, 60))
    lower = least_wall(_CUP, inside, None, 0, 40)
    assert lower is not None
    assert (lower.thickness_mm, lower.z_mm) == pytest.approx((6.5, 40))
    assert least_wall(_CUP, inside, None, 150, 200) is None


def test_inside_beyond_the_outside_is_less_than_nothing() -> None:
    inside = corners((0, 20), (40, 20), (52, 60), (40, 100))
    spot = least_wall(_CUP, inside)
    assert spot is not None
    assert (spot.thickness_mm, spot.r_mm, spot.z_mm) == pytest.approx((-2, 52, 60))
    fault = inside_outside_fault(_CUP, inside)
    assert fault == spot
    assert inside_outside_fault(_CUP, corners((0, 20), (40, 20), (49, 60), (40, 100))) is None


def test_a_touching_inside_leaves_nothing() -> None:
    assert _thickness(_CUP, corners((0, 20), (40, 20), (50, 60), (40, 100))) == 0


def test_a_floor_through_the_bottom_is_the_floors_fault_alone() -> None:
    inside = corners((0, -2), (30, 5), (45, 8), (45, 100))
    assert _floor(_CUP, inside) == pytest.approx(-2)
    assert _thickness(_CUP, inside) == pytest.approx(5)
    assert inside_outside_fault(_CUP, inside) == floor_thickness(_CUP, inside)


def test_a_hollowed_foot_thins_the_floor() -> None:
    outside = corners((0, 6), (30, 6), (30, 0), (50, 0), (50, 100))
    assert _floor(outside, corners((0, 10), (45, 10), (45, 100))) == pytest.approx(4)


def test_an_explicit_floor_is_measured_where_it_is() -> None:
    inside = corners((0, 3), (45, 3), (45, 100))
    assert _floor(_CUP, inside, 12.0) == pytest.approx(12)
    assert _thickness(_CUP, inside, 12.0) == pytest.approx(5)


def test_a_level_floor_wider_than_the_foot_is_wall_beyond_it() -> None:
    outside = corners((20, 0), (50, 30), (50, 100))
    inside = corners((0, 8), (24, 8), (44, 40), (44, 100))
    assert _floor(outside, inside) == pytest.approx(8)
    # From the corner (24, 8) square to the outside's slope of 45°.
    assert _thickness(outside, inside) == pytest.approx(2 * math.sqrt(2))


def test_a_tube_has_no_floor() -> None:
    assert floor_thickness(_CUP, corners((45, 0), (45, 100))) is None
    assert _thickness(_CUP, corners((45, 0), (45, 100))) == pytest.approx(5)


def test_a_rim_brought_to_a_round_lip_is_no_thin_wall() -> None:
    lip_out = arc((47, 97), 3, 0, 90)
    lip_in = arc((47, 97), 3, 180, 90)
    outside = chained(corners((50, 0), (50, 97)), lip_out)
    inside = chained(corners((0, 10), (44, 10), (44, 97)), lip_in)
    # Up to the easing's own height the wall is 6; there the arcs have hardly begun to close.
    assert 4 < _thickness(outside, inside) <= 6


def test_a_thin_rim_that_stays_open_is_a_thin_wall() -> None:
    assert _thickness(_CUP, corners((0, 10), (40, 10), (49, 100))) == pytest.approx(1, abs=0.01)


@pytest.mark.parametrize("seed", range(200))
def test_random_tubes_agree_with_shapely(seed: int) -> None:
    outside = random_outside(seed)
    rng = np.random.default_rng(seed)
    inside = moved_in(outside, rng.uniform(2, 12, len(outside.points)).tolist())
    found = _thickness(outside, inside)
    solid = shapely.LineString(dense(outside, 200))
    hollow = shapely.LineString(dense(inside, 200))
    under = dense(outside, 200)
    # From the edge of the foot: what lies before it is the underside.
    lowest = np.flatnonzero(under[:, 1] <= under[:, 1].min())
    foot = lowest[np.argmax(under[lowest, 0])]
    wall = shapely.LineString(under[foot:])
    if found > 0:
        assert found == pytest.approx(shapely.distance(hollow, wall), abs=0.01)
        assert not solid.crosses(hollow)
    elif found < 0:
        assert solid.crosses(hollow) or not _outline(outside, inside).buffer(0.01).covers(hollow)
        spot = least_wall(outside, inside)
        assert spot is not None
        outline = _outline(outside, inside)
        fine = shapely.segmentize(hollow, 0.02)
        shapely.prepare(outline)
        deepest = shapely.distance(shapely.points(shapely.get_coordinates(fine)), outline).max()
        assert -found == pytest.approx(deepest, abs=0.01)


def _outline(outside: Curve, inside: Curve) -> shapely.Geometry:
    line = dense(outside, 200)
    return shapely.make_valid(
        shapely.Polygon([(0, line[0, 1]), *line, (0, inside.spans[-1, 3, 1])])
    )


def test_a_smooth_vessel_is_measured_to_a_hundredth() -> None:
    outside = smooth((25, 0), (70, 60), (60, 110), (22, 130))
    inside = smooth((0, 8), (30, 14), (63, 60), (55, 106), (17, 130))
    chains = [shapely.LineString(dense(curve, 1000)) for curve in (outside, inside)]
    found = least_wall(outside, inside, None, 20, None)
    above = shapely.intersection(chains[1], shapely.box(0, 20, 200, 200))
    assert found is not None
    assert found.thickness_mm == pytest.approx(shapely.distance(above, chains[0]), abs=0.01)
