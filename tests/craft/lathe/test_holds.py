"""Holds against the profile: recess walls, clamp openings, jaws, slenderness."""

import math

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from server.craft.lathe.holds import (
    Jaws,
    Strength,
    Way,
    jaws_for,
    recess_fit,
    recess_hold,
    ring_clamp,
    steady_between_centres,
    steady_on_block,
    tenon_hold,
)
from server.craft.lathe.holds_reverse import (
    bears_boring,
    best_ring_clamp,
    groove_hold,
    jam_hold,
    pin_hold,
    reverse_hold,
)

SMALL = Jaws("50 mm", closes_from_mm=45, closes_to_mm=58, opens_from_mm=50, opens_to_mm=70)
LARGE = Jaws("100 mm", closes_from_mm=90, closes_to_mm=120, opens_from_mm=96, opens_to_mm=125)


def solid(make, foot: float, mouth: float, height: float):
    part = {
        "id": "p",
        "kind": "disc",
        "outside": {
            "points": [
                {"r_mm": foot, "z_mm": 0, "corner": True},
                {"r_mm": mouth, "z_mm": height, "corner": True},
            ]
        },
    }
    return make.worked([part]).parts[0]


def test_a_recess_leaves_the_wall_and_floor_worked_out_by_hand(make):
    # A cylinder of radius 60, hollow from 18 mm up: recess Ø 80 × 4 leaves 20 beside, 14 above.
    part = make.worked(
        [
            {
                "id": "p",
                "kind": "disc",
                "outside": {
                    "points": [
                        {"r_mm": 60, "z_mm": 0, "corner": True},
                        {"r_mm": 60, "z_mm": 50, "corner": True},
                    ]
                },
                "inside": {
                    "points": [
                        {"r_mm": 0, "z_mm": 18, "corner": True},
                        {"r_mm": 50, "z_mm": 18, "corner": True},
                        {"r_mm": 50, "z_mm": 50, "corner": True},
                    ]
                },
            }
        ]
    ).parts[0]
    fit = recess_fit(part, 80)
    assert (fit.wall_mm, fit.floor_mm) == pytest.approx((20, 14))
    assert fit.holds
    assert not recess_fit(part, 104).holds
    assert not recess_fit(part, 80, depth_mm=14).holds


@settings(max_examples=40, deadline=None)
@given(st.floats(30, 60), st.floats(-15, 40), st.floats(10, 28))
def test_recess_walls_agree_with_shapely(make, foot, flare, recess):
    part = solid(make, foot, foot + flare, 60)
    fit = recess_fit(part, 2 * recess, 4)
    side = shapely.LineString([(recess, 0), (recess, 4)])
    outside = shapely.LineString(part.outside.polyline(8))
    beside = shapely.intersection(outside, shapely.box(0, 0, 200, 4))
    least = min(x for x, _ in beside.coords) - recess
    assert fit.wall_mm == pytest.approx(least)
    assert fit.wall_mm <= shapely.distance(side, outside) / math.cos(math.atan(15 / 60)) + 1e-9


def test_the_largest_recess_that_the_jaws_take_and_the_wood_bears(make):
    wide = recess_hold(solid(make, 80, 90, 60), [SMALL, LARGE])
    assert wide is not None
    assert (wide.jaws, wide.size_mm) == ("100 mm", 125)
    narrow = recess_hold(solid(make, 40, 60, 60), [SMALL, LARGE])
    assert narrow is not None
    assert (narrow.jaws, narrow.size_mm) == ("50 mm", 60)
    assert recess_hold(solid(make, 33, 60, 60), [SMALL, LARGE]) is None
    assert recess_hold(solid(make, 80, 90, 60), []) is None


def test_jaws_take_what_lies_in_their_range():
    assert jaws_for([SMALL, LARGE], 100, Way.RECESS) is LARGE
    assert jaws_for([SMALL, LARGE], 58, Way.TENON) is SMALL
    assert jaws_for([SMALL, LARGE], 80, Way.TENON) is None


def test_a_tenon_is_at_least_a_third_of_the_work():
    hold = tenon_hold(150, 200, [SMALL, LARGE])
    assert (hold.jaws, hold.size_mm) == ("50 mm", 58)
    large = tenon_hold(240, 200, [SMALL, LARGE])
    assert (large.jaws, large.size_mm) == ("100 mm", 120)
    none = tenon_hold(400, 200, [SMALL, LARGE])
    assert none.jaws is None
    assert none.size_mm == pytest.approx(400 / 3)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(3, 6),
    st.floats(15, 40),
    st.floats(45, 80),
    st.floats(25, 70),
    st.floats(0.05, 0.95),
)
def test_a_clamp_opening_lets_the_foot_through_and_stops_at_its_height(
    make, rings, foot, belly, mouth, share
):
    part = make.worked([make.vessel("v", rings, foot, belly, mouth, 1)]).parts[0]
    z = share * part.height_mm
    clamp = ring_clamp(part, z)
    assume(clamp is not None)
    assert clamp is not None
    line = shapely.LineString(part.outside.polyline(400))
    below = shapely.intersection(line, shapely.box(0, -1, 500, z))
    above = shapely.intersection(line, shapely.box(0, z, 500, part.z1_mm + 1))
    assert clamp.opening_mm / 2 == pytest.approx(below.bounds[2], abs=0.01)
    assert above.bounds[2] > clamp.opening_mm / 2
    assert clamp.cut_mm == pytest.approx(clamp.opening_mm + 6)


def test_no_clamp_goes_on_past_the_belly(make):
    part = make.worked([make.vessel("v", 6, 25, 70, 30, 1)]).parts[0]
    assert ring_clamp(part, 0.9 * part.height_mm) is None
    assert ring_clamp(part, 0.2 * part.height_mm) is not None


def test_the_slope_of_a_cone_is_its_lean(make):
    clamp = ring_clamp(solid(make, 30, 60, 60), 30)
    assert clamp is not None
    assert clamp.slope_deg == pytest.approx(math.degrees(math.atan(0.5)))
    assert clamp.opening_mm == pytest.approx(90)
    assert clamp.holds
    steep = ring_clamp(solid(make, 50, 52, 60), 30)
    assert steep is not None
    assert not steep.holds


def test_turned_round_the_strongest_hold_that_the_form_allows(make):
    flared = make.worked([make.vessel("v", 5, 25, 60, 62, 1)]).parts[0]
    assert reverse_hold(flared, [], bores=False).way is Way.RING_CLAMP
    straight = make.worked([make.vessel("v", 5, 50, 50, 50, 1)]).parts[0]
    assert best_ring_clamp(straight) is None
    jam = reverse_hold(straight, [], bores=False)
    assert jam.way is Way.JAM_CHUCK
    assert jam.tailstock
    assert jam.size_mm == pytest.approx(88, abs=0.1)
    alone = reverse_hold(straight, [], bores=True)
    assert bears_boring(alone)
    assert reverse_hold(solid(make, 40, 40, 30), [], bores=False, mortise_mm=10.15).size_mm == 10.15


def test_only_a_hold_that_stands_alone_bears_boring(make):
    part = make.worked([make.vessel("v", 5, 50, 50, 50, 1)]).parts[0]
    assert not bears_boring(jam_hold(part))
    assert not bears_boring(pin_hold(10))
    assert bears_boring(groove_hold(part))
    assert jam_hold(part).strength is Strength.LIGHT


def test_slender_work_asks_for_a_steady():
    assert not steady_between_centres(150, 16).needed
    assert steady_between_centres(170, 16).needed
    assert steady_between_centres(170, 16).ratio == pytest.approx(10.625)
    assert not steady_on_block(200, 70).needed
    assert steady_on_block(220, 70).needed
