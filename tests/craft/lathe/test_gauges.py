"""Gauges against sections cut with shapely, and against cones worked out by hand."""

import math
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.lathe.gauges import (
    depth_left_mm,
    depth_to_floor_mm,
    gauge_at,
    gauges,
    lowest_hollow_mm,
    rough_gauge,
    roughest_diameter_mm,
    telling_heights,
)
from server.craft.lathe.gauges_reach import leave_open_after, reach
from server.craft.worked.piece import WorkedPart


def polygon(part: WorkedPart, line: Any) -> shapely.Polygon:
    """What lies between the axis and a curve, level at its ends."""
    points = line.polyline(400)
    return shapely.make_valid(
        shapely.Polygon([(0, points[0, 1]), *points.tolist(), (0, points[-1, 1])])
    )


def level(part: WorkedPart, z: float) -> shapely.LineString:
    return shapely.LineString([(0, z), (500, z)])


def cone(make: Any) -> WorkedPart:
    """Straight walls leaning 45°, 10 mm apart along the radius, the floor at 12 mm."""
    part = {
        "id": "cone",
        "kind": "ringed",
        "outside": {"points": [{"r_mm": 30, "z_mm": 0, "corner": True}, {"r_mm": 90, "z_mm": 60}]},
        "inside": {
            "points": [
                {"r_mm": 0, "z_mm": 12, "corner": True},
                {"r_mm": 32, "z_mm": 12, "corner": True},
                {"r_mm": 80, "z_mm": 60, "corner": True},
            ]
        },
        "rings": [{"id": f"c{i}", "thickness_mm": 20} for i in range(3)],
    }
    return make.worked([part], allowance={"outside_mm": 3, "inside_mm": 2}).parts[0]


def test_a_cone_by_hand(make):
    part = cone(make)
    gauge = gauge_at(part, 40)
    assert gauge is not None
    assert gauge.outside_diameter_mm == pytest.approx(2 * 70)
    assert gauge.inside_diameter_mm == pytest.approx(2 * 60)
    # Ten millimetres along the radius are 10·cos 45° square to a wall that leans 45°.
    assert gauge.wall_mm == pytest.approx(10 * math.cos(math.radians(45)))
    assert gauge.ring == "c1"
    assert depth_to_floor_mm(part) == pytest.approx(48)
    assert depth_left_mm(part, 30) == pytest.approx(18)
    assert depth_left_mm(part, 50) == pytest.approx(-2)


def test_below_the_floor_there_is_no_wall_to_gauge(make):
    gauge = gauge_at(cone(make), 6)
    assert gauge is not None
    assert gauge.wall_mm is None
    assert gauge.inside_diameter_mm is None
    assert gauges(cone(make), [-5, 6, 75]) == (gauge,)


@settings(max_examples=40, deadline=None)
@given(
    st.integers(3, 6),
    st.floats(15, 40),
    st.floats(45, 80),
    st.floats(25, 70),
    st.floats(0.05, 0.95),
)
def test_gauges_agree_with_sections_cut_by_shapely(make, rings, foot, belly, mouth, share):
    part = make.worked([make.vessel("v", rings, foot, belly, mouth, 1)]).parts[0]
    z = part.z0_mm + share * part.height_mm
    gauge = gauge_at(part, z)
    assert gauge is not None
    body = polygon(part, part.outside)
    cut = shapely.intersection(body, level(part, z))
    assert gauge.outside_diameter_mm / 2 == pytest.approx(cut.bounds[2], abs=0.01)
    assert part.inside is not None
    void = polygon(part, part.inside)
    if z <= part.inside.bounds[1]:
        assert gauge.wall_mm is None
        return
    across = shapely.intersection(void, level(part, z))
    assert gauge.inside_diameter_mm == pytest.approx(2 * across.bounds[2], abs=0.02)
    spot = shapely.Point(gauge.outside_diameter_mm / 2, z)
    assert gauge.wall_mm == pytest.approx(shapely.distance(spot, void), abs=0.02)


def test_what_is_left_outside_and_inside_is_the_rough_less_eccentricity_less_finished(make):
    part = cone(make)
    ring = part.rings[1]
    # Slab 20 to 40: finished outside 70 at its top, finished inside 40 at its bottom.
    rough = rough_gauge(ring, 0.8)
    assert rough.left_outside_mm == pytest.approx(3 - 0.8)
    assert rough.left_inside_mm == pytest.approx(2 - 0.8)
    # Corners of twelve segments: R·(1/cos 15° − 1), R 73.
    assert rough.corners_proud_mm == pytest.approx(73 * (1 / math.cos(math.radians(15)) - 1))
    corner = 73 / math.cos(math.radians(15))
    assert rough.rough_diameter_mm == pytest.approx(2 * (corner + 0.8))
    assert rough_gauge(part.rings[0]).left_inside_mm is None
    top = 93 / math.cos(math.radians(15))
    assert roughest_diameter_mm(part, ["c1", "c2"]) == pytest.approx(2 * top)
    assert roughest_diameter_mm(part, []) is None


def test_more_eccentric_than_the_allowance_breaks_out_of_the_wood(make):
    rough = rough_gauge(cone(make).rings[1], 3.5)
    assert rough.left_outside_mm is not None
    assert rough.left_outside_mm < 0


def test_telling_heights_are_the_ends_the_belly_and_the_neck(make):
    part = {
        "id": "vase",
        "kind": "ringed",
        "outside": {
            "points": [
                {"r_mm": 30, "z_mm": 0},
                {"r_mm": 60, "z_mm": 50},
                {"r_mm": 20, "z_mm": 110},
                {"r_mm": 32, "z_mm": 140},
            ]
        },
    }
    worked = make.worked([part]).parts[0]
    assert telling_heights(worked) == pytest.approx((0, 50, 110, 140))
    assert telling_heights(worked, 40, 100) == pytest.approx((40, 50, 100))
    assert lowest_hollow_mm(worked) is None


def test_a_straight_bar_reaches_all_of_a_bowl_but_not_under_a_shoulder(make):
    bowl = reach(cone(make))
    assert bowl is not None
    assert bowl.hidden_mm is None
    assert bowl.opening_mm == pytest.approx(160)
    assert bowl.depth_mm == pytest.approx(48)
    assert leave_open_after(cone(make)) is None
    vase = make.worked([make.vessel("v", 7, 30, 80, 14, 1)]).parts[0]
    seen = reach(vase)
    assert seen is not None
    assert seen.hidden_mm is not None
    assert vase.inside is not None
    widest = max(vase.inside.polyline(64), key=lambda point: point[0])
    assert seen.hidden_mm[0] <= widest[1] <= seen.hidden_mm[1] + 2
    assert leave_open_after(vase) == vase.ring_at(float(widest[1]))


def test_a_bar_thicker_than_the_opening_does_not_enter(make):
    vase = make.worked([make.vessel("v", 7, 30, 60, 13, 1)]).parts[0]
    thin, thick = reach(vase, 8), reach(vase, 16)
    assert thin is not None
    assert thick is not None
    assert thin.enters
    assert not thick.enters
    assert thick.chatters is (thick.overhang_mm > 80)


def test_what_is_hidden_from_a_cylinder_with_a_lip_by_similar_triangles(make):
    """A tube of radius 50 and depth 100 with a mouth of radius 20 and a bar of no thickness.

    From the mouth's far edge (−20) past its near edge (20) nothing bends; the wall at depth d is
    seen from any door in the mouth as long as the line stays inside: the wall is vertical and the
    lip has no height, so that all of it is seen through some door.
    """
    part = {
        "id": "tube",
        "kind": "ringed",
        "outside": {
            "points": [
                {"r_mm": 60, "z_mm": 0, "corner": True},
                {"r_mm": 60, "z_mm": 110, "corner": True},
            ]
        },
        "inside": {
            "points": [
                {"r_mm": 0, "z_mm": 10, "corner": True},
                {"r_mm": 50, "z_mm": 10, "corner": True},
                {"r_mm": 50, "z_mm": 110, "corner": True},
            ]
        },
    }
    seen = reach(make.worked([part]).parts[0], 10)
    assert seen is not None
    assert seen.hidden_mm is None
    neck = {
        **part,
        "inside": {
            "points": [
                {"r_mm": 0, "z_mm": 10, "corner": True},
                {"r_mm": 50, "z_mm": 10, "corner": True},
                {"r_mm": 50, "z_mm": 90, "corner": True},
                {"r_mm": 20, "z_mm": 90, "corner": True},
                {"r_mm": 20, "z_mm": 110, "corner": True},
            ]
        },
    }
    hidden = reach(make.worked([neck]).parts[0], 0.5)
    assert hidden is not None
    assert hidden.hidden_mm is not None
    # The steepest line from the neck's upper far edge (−19.75, 110) past its lower near edge
    # (20, 90) meets the wall at r 50 below 90 by 30·20/39.75 mm: above that all is hidden.
    limit = 90 - 30 * 20 / 39.75
    assert hidden.hidden_mm[0] == pytest.approx(limit, abs=2.0)
