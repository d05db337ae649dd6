"""Dried ovals against the handbook's shrinkage and against shapes measured by shapely."""

from math import cos, hypot, inf, isclose, pi, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from server.craft.wood.green import (
    Axis,
    dried_diameters,
    dried_outline,
    green_sizes,
)
from server.craft.wood.movement import movement
from server.craft.wood.properties import MissingPropertyError, Species
from server.craft.wood.species import all_species, species, with_user_woods

WOODS = st.sampled_from(all_species())
AXES: st.SearchStrategy[Axis] = st.sampled_from(("end grain", "face grain", "quartered"))


def test_a_cherry_circle_dried_to_ovendry_has_the_printed_shrinkage() -> None:
    # Table 4-3, black cherry: radial 3.7 %, tangential 7.1 %.
    oval = dried_outline(species("cherry-black"), 100.0, 80.0, 0.0)
    assert oval.toward_pith_mm == pytest.approx(96.3)
    assert oval.along_rings_mm == pytest.approx(92.9)
    assert not oval.pith_inside


def test_dried_to_8_percent_it_is_equation_4_9() -> None:
    # 22/30 of the whole shrinkage.
    oval = dried_outline(species("cherry-black"), 100.0, 80.0, 8.0)
    assert oval.toward_pith_mm == pytest.approx(100 - 3.7 * 22 / 30)
    assert oval.along_rings_mm == pytest.approx(100 - 7.1 * 22 / 30)


@given(WOODS, st.floats(20, 400), st.floats(4, 20), st.floats(0, 360))
def test_turning_the_pith_turns_the_oval(
    wood: Species, diameter: float, end: float, direction: float
) -> None:
    flat = dried_outline(wood, diameter, 60.0, end, pith_direction_deg=0.0)
    turned = dried_outline(wood, diameter, 60.0, end, pith_direction_deg=direction)
    turn = radians(direction)
    for (x, y), (u, v) in zip(flat.points, turned.points, strict=True):
        assert u == pytest.approx(x * cos(turn) - y * sin(turn), abs=1e-9)
        assert v == pytest.approx(x * sin(turn) + y * cos(turn), abs=1e-9)


@given(WOODS, st.floats(20, 400), st.floats(4, 20))
def test_a_far_pith_gives_the_ellipse(wood: Species, diameter: float, end: float) -> None:
    far = dried_outline(wood, diameter, 60.0, end, pith_distance_mm=1e7)
    ellipse = dried_outline(wood, diameter, 60.0, end, pith_distance_mm=inf)
    for (x, y), (u, v) in zip(far.points, ellipse.points, strict=True):
        assert hypot(x - u, y - v) < 1e-3


@given(WOODS, st.floats(1.02, 20), st.floats(4, 20))
def test_every_small_step_shrinks_radially_and_tangentially(
    wood: Species, distance: float, end: float
) -> None:
    """Oracle: the area of any dried shape is the green area times both factors, wherever it is.

    A map that shrinks by r everywhere towards the pith and by t across it has the determinant
    r·t everywhere, so areas (by shapely) must obey it whatever the distance of the pith.
    """
    radius = 50.0
    oval = dried_outline(wood, 2 * radius, 60.0, end, distance * radius, points=720)
    radial = 1 + movement(wood, 1.0, 60.0, end, "radial").relative
    tangential = 1 + movement(wood, 1.0, 60.0, end, "tangential").relative
    green = Polygon(
        [(radius * cos(2 * pi * k / 720), radius * sin(2 * pi * k / 720)) for k in range(720)]
    )
    dried = Polygon(oval.points)
    assert dried.is_valid
    assert dried.area == pytest.approx(green.area * radial * tangential, rel=1e-4)


def test_points_at_the_pith_line_keep_their_radial_shrinkage() -> None:
    oval = dried_outline(species("beech-american"), 100.0, 60.0, 8.0, 120.0, 0.0, points=4)
    radial = 1 - 5.5 / 100 * 22 / 30  # Table 4-3, American beech.
    (near, _), _, (far, _), _ = oval.points
    assert near == pytest.approx(50 * radial)
    assert far == pytest.approx(-50 * radial)


def test_round_the_pith_the_wood_checks() -> None:
    maple = species("maple-sugar")
    oval = dried_outline(maple, 100.0, 60.0, 8.0, pith_distance_mm=10.0)
    assert oval.pith_inside
    # The rings keep 1 − 0.0726 of their length on a radius of 1 − 0.0352 (S 9.9 and 4.8).
    assert oval.check_deg == pytest.approx(360 * (1 - (1 - 0.0726) / (1 - 0.0352)))
    assert dried_outline(maple, 100.0, 60.0, 8.0, pith_distance_mm=51.0).check_deg == 0.0


@given(WOODS, st.floats(20, 400), st.floats(4, 20), AXES)
def test_the_shorter_diameter_comes_first(
    wood: Species, diameter: float, end: float, axis: Axis
) -> None:
    short, long = dried_diameters(wood, diameter, 60.0, end, axis)
    assert short <= long < diameter
    if axis == "end grain":
        oval = dried_outline(wood, diameter, 60.0, end)
        assert isclose(short, oval.along_rings_mm)
        assert isclose(long, oval.toward_pith_mm)


def test_face_grain_hardly_shrinks_along_the_grain() -> None:
    short, long = dried_diameters(species("maple-sugar"), 300.0, 60.0, 0.0, "face grain")
    assert long == pytest.approx(300 * 0.999)
    assert short == pytest.approx(300 * 0.901)
    short, _ = dried_diameters(species("maple-sugar"), 300.0, 60.0, 0.0, "quartered")
    assert short == pytest.approx(300 * 0.952)


@given(WOODS, st.floats(20, 200), st.floats(0.1, 0.95), st.floats(4, 20), AXES)
def test_the_finished_ring_fits_the_dry_oval_and_no_smaller_one(
    wood: Species, outside: float, share: float, end: float, axis: Axis
) -> None:
    inside = outside * share
    sizes = green_sizes(wood, outside, inside, 60.0, end, axis)
    wall = _oval(wood, sizes.outside_radius_mm, end, axis)
    hollow = _oval(wood, sizes.inside_radius_mm, end, axis)
    slack = 1e-3 * outside  # The ovals are polygons here.
    assert wall.buffer(slack).contains(Point(0, 0).buffer(outside))
    assert Point(0, 0).buffer(inside, 720).buffer(slack).contains(hollow)
    less = _oval(wood, sizes.outside_radius_mm * 0.99, end, axis)
    assert not less.contains(Point(0, 0).buffer(outside, 720))
    more = _oval(wood, sizes.inside_radius_mm * 1.01, end, axis)
    assert not Point(0, 0).buffer(inside, 720).contains(more)
    assert sizes.wall_mm == pytest.approx(sizes.outside_radius_mm - sizes.inside_radius_mm)
    assert sizes.usual_wall_mm == pytest.approx(0.1 * 2 * sizes.outside_radius_mm)


def _oval(wood: Species, radius: float, end: float, axis: Axis) -> Polygon:
    short, long = dried_diameters(wood, 2 * radius, 60.0, end, axis)
    turns = [2 * pi * k / 720 for k in range(720)]
    return Polygon([(short / 2 * cos(turn), long / 2 * sin(turn)) for turn in turns])


def test_unknown_shrinkage_is_not_invented() -> None:
    unknown = with_user_woods([{"id": "mystery"}])["mystery"]
    with pytest.raises(MissingPropertyError):
        dried_outline(unknown, 100.0, 60.0, 8.0)
