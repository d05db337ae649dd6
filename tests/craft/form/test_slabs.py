"""Finished radii of rings against shapely, and the rules for planes, floors and shoulders."""

import numpy as np
import pytest
import shapely
from geometry_checks import one_worked
from round_forms import chained, corners, dense, moved_in, parabola, planes, random_outside

from server.craft.form.curves import Curve
from server.craft.form.slabs import Shoulder, ring_radii

_NEAR = 1e-12
"""So far inside its planes the oracle looks: a level part on a plane is neither side's."""
_INCH_RING = 12.7


def _oracle(curve: Curve, low: float, high: float) -> tuple[float, float] | None:
    """Radii of the part between two planes, by cutting a chain of many chords with shapely."""
    band = shapely.box(-1.0, low + _NEAR, 1e4, high - _NEAR)
    part = shapely.intersection(shapely.LineString(dense(curve, 200)), band)
    return None if part.is_empty else (part.bounds[0], part.bounds[2])


def test_three_rings_of_half_an_inch_end_at_38_1() -> None:
    levels = planes(12.7, 3)
    assert levels[3] != 38.1  # What adding up leaves is the point of the tolerance.
    outside = corners((30, 0), (30, 38.1), (50, 38.1), (50, 76.2))
    radii = ring_radii(outside, None, None, [*levels, 50.8])
    assert [ring.outside_mm for ring in radii] == [30, 30, 30, 50]


@pytest.mark.parametrize("seed", range(200))
def test_extremes_of_random_profiles_agree_with_shapely(seed: int) -> None:
    outside = random_outside(seed, _INCH_RING)
    levels = planes(_INCH_RING, 7)
    for ring, low, high in zip(
        ring_radii(outside, None, None, levels), levels, levels[1:], strict=False
    ):
        # The oracle's planes are the exact ones: neighbouring decimals are one plane.
        exact = [round(level / _INCH_RING) * _INCH_RING for level in (low, high)]
        expected = _oracle(outside, *exact)
        assert expected is not None
        assert ring.outside_mm == pytest.approx(expected[1], abs=0.01)


@pytest.mark.parametrize("seed", range(200))
def test_inside_extremes_of_random_tubes_agree_with_shapely(seed: int) -> None:
    outside = random_outside(seed, _INCH_RING)
    inside = moved_in(outside, [5.0] * len(outside.points))
    levels = planes(_INCH_RING, 7)
    for ring, low, high in zip(
        ring_radii(outside, inside, None, levels), levels, levels[1:], strict=False
    ):
        exact = [round(level / _INCH_RING) * _INCH_RING for level in (low, high)]
        expected = _oracle(inside, *exact)
        assert expected is not None
        assert ring.inside_mm == pytest.approx(expected[0], abs=0.01)


def test_a_bulge_between_the_planes_counts() -> None:
    outside = chained(parabola((30, 0), (50, 5), (50, 10)), parabola((50, 10), (50, 15), (30, 20)))
    (ring,) = ring_radii(outside, None, None, [0, 20])
    assert ring.outside_mm == 50


def test_worked_cone() -> None:
    given, expected = one_worked("P01")
    (i0, i1), (o0, o1) = given["r_i_at_ends"], given["r_o_at_ends"]
    (ring,) = ring_radii(corners((o0, 0), (o1, 19)), corners((i0, 0), (i1, 19)), None, [0, 19])
    assert ring.outside_mm == pytest.approx(expected["r_o_max"], abs=1e-5)
    assert ring.inside_mm == pytest.approx(expected["r_i_min"], abs=1e-5)


def test_worked_waist_is_narrowest_between_its_planes() -> None:
    _, expected = one_worked("P04")
    # r = 20 + 0.025(z − 12)² and 7 mm more outside: the values at both ends fix it.
    outside, inside = (
        chained(
            parabola((r + 3.6, 0), (r, 6), (r, 12)),
            parabola((r, 12), (r, 18.5), (r + 4.225, 25)),
        )
        for r in (27.0, 20.0)
    )
    (ring,) = ring_radii(outside, inside, None, [0, 25])
    assert ring.outside_mm == pytest.approx(expected["r_o_max"], abs=1e-9)
    assert ring.inside_mm == pytest.approx(expected["r_i_min"], abs=1e-9)


_WALL = corners((50, 0), (50, 80))


def _cup(floor: float) -> Curve:
    return corners((0, floor), (40, floor), (40, 80))


def test_a_ring_is_solid_where_its_slab_reaches_below_the_floor() -> None:
    radii = ring_radii(_WALL, _cup(25), None, [0, 20, 40, 60, 80])
    assert [ring.inside_mm for ring in radii] == [0, 0, 40, 40]
    assert not any(ring.shoulders for ring in radii)


def test_a_floor_on_a_plane_belongs_to_the_ring_below_it() -> None:
    radii = ring_radii(_WALL, _cup(20), None, [0, 20, 40, 60, 80])
    assert [ring.inside_mm for ring in radii] == [0, 40, 40, 40]
    assert radii[0].shoulders == (Shoulder("inside", 20, 0, 40, True),)
    assert not any(ring.shoulders for ring in radii[1:])


def test_an_explicit_floor_fills_what_the_inside_has_below_it() -> None:
    radii = ring_radii(_WALL, _cup(5), 40.0, [0, 20, 40, 60, 80])
    assert [ring.inside_mm for ring in radii] == [0, 0, 40, 40]
    assert radii[1].shoulders == (Shoulder("inside", 40, 0, 40, True),)


def test_a_tube_has_no_floor_and_an_inside_that_begins_higher_has_a_level_one() -> None:
    tube = corners((40, 0), (40, 80))
    assert [r.inside_mm for r in ring_radii(_WALL, tube, None, [0, 20, 80])] == [40, 40]
    assert [r.inside_mm for r in ring_radii(_WALL, tube, 15.0, [0, 20, 80])] == [0, 40]
    begun = corners((40, 20), (40, 80))
    radii = ring_radii(_WALL, begun, None, [0, 20, 80])
    assert [ring.inside_mm for ring in radii] == [0, 40]
    assert radii[0].shoulders == (Shoulder("inside", 20, 0, 40, True),)


def test_a_raised_middle_of_the_floor_keeps_its_ring_solid() -> None:
    punt = corners((0, 30), (20, 15), (40, 15), (40, 80))
    radii = ring_radii(_WALL, punt, None, [0, 10, 20, 40, 80])
    assert [ring.inside_mm for ring in radii] == [0, 0, 0, 40]


def test_shoulders_outside_belong_to_the_wood_they_are_cut_in() -> None:
    outside = corners((30, 0), (30, 20), (50, 20), (50, 40), (35, 40), (35, 60))
    radii = ring_radii(outside, None, None, [0, 20, 40, 60])
    assert [ring.outside_mm for ring in radii] == [30, 50, 35]
    assert radii[1].shoulders == (
        Shoulder("outside", 20, 30, 50, False),
        Shoulder("outside", 40, 35, 50, True),
    )
    assert radii[0].shoulders == radii[2].shoulders == ()


def test_shoulders_inside_belong_to_the_wood_they_are_cut_in() -> None:
    inside = corners((20, 0), (20, 20), (40, 20), (40, 40), (30, 40), (30, 60))
    radii = ring_radii(_WALL, inside, None, [0, 20, 40, 60])
    assert [ring.inside_mm for ring in radii] == [20, 40, 30]
    assert radii[0].shoulders == (Shoulder("inside", 20, 20, 40, True),)
    assert radii[2].shoulders == (Shoulder("inside", 40, 30, 40, False),)


def test_a_shoulder_between_planes_is_seen_by_its_ring_and_is_none_on_a_plane() -> None:
    outside = corners((30, 0), (30, 30), (50, 30), (50, 60))
    radii = ring_radii(outside, None, None, [0, 20, 40, 60])
    assert [ring.outside_mm for ring in radii] == [30, 50, 50]
    assert not any(ring.shoulders for ring in radii)


def test_rings_beyond_the_form_have_no_outside() -> None:
    radii = ring_radii(_WALL, _cup(20), None, [0, 40, 80, 100])
    assert [ring.outside_mm for ring in radii] == [50, 50, None]


def test_a_rim_cut_aslant_closes_the_shorter_curve() -> None:
    # The inside ends 10 lower than the outside: the rim runs from (40, 70) to (50, 80).
    radii = ring_radii(_WALL, corners((40, 0), (40, 70)), None, [0, 60, 75, 80])
    assert [ring.inside_mm for ring in radii] == pytest.approx([40, 40, 45])
    radii = ring_radii(corners((50, 0), (50, 70)), corners((40, 0), (40, 80)), None, [0, 75, 80])
    assert [ring.outside_mm for ring in radii] == pytest.approx([50, 45])


def test_a_hollow_closed_at_its_top_has_a_solid_roof() -> None:
    egg = corners((0, 10), (40, 30), (40, 50), (0, 70))
    radii = ring_radii(_WALL, egg, None, [0, 10, 20, 60, 75, 80])
    assert [ring.inside_mm for ring in radii] == pytest.approx([0, 0, 20, 0, 0])


def test_an_outside_that_closes_roofs_an_inside_that_ends_open() -> None:
    finial = corners((50, 0), (50, 60), (0, 100))
    radii = ring_radii(finial, corners((0, 10), (40, 10), (30, 50)), None, [0, 10, 40, 60, 100])
    assert [ring.inside_mm for ring in radii] == pytest.approx([0, 32.5, 0, 0])


def test_a_tube_cut_aslant_below_is_closed_by_its_foot() -> None:
    radii = ring_radii(corners((50, 10), (50, 80)), corners((40, 0), (40, 80)), None, [0, 5, 80])
    assert [ring.outside_mm for ring in radii] == pytest.approx([45, 50])
    assert [ring.inside_mm for ring in radii] == [40, 40]


def test_an_undercut_counts_on_both_of_its_ways() -> None:
    outside = corners((30, 0), (60, 30), (45, 18), (45, 60))
    radii = ring_radii(outside, None, None, [0, 20, 60])
    assert [ring.outside_mm for ring in radii] == pytest.approx([50, 60])


def test_results_are_plain_floats() -> None:
    (ring,) = ring_radii(_WALL, _cup(20), None, [0, 80])
    assert type(ring.outside_mm) is float
    assert type(ring.inside_mm) is float
    assert not isinstance(ring.outside_mm, np.floating)
