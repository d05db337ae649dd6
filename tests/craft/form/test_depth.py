"""How deep a hole finds wood, from either end."""

import pytest
from round_forms import corners, smooth

from server.craft.form.curves import Curve
from server.craft.form.depth import solid_depth_mm

_CUP = corners((50, 0), (50, 80))


def _from_below(outside: Curve, inside: Curve | None, radius: float = 8) -> float:
    return solid_depth_mm(outside, inside, None, radius, top=False)


def test_a_solid_part_is_wood_all_through() -> None:
    assert _from_below(_CUP, None) == 80
    assert solid_depth_mm(_CUP, None, None, 8, top=True) == 80


def test_a_level_floor_ends_the_wood() -> None:
    inside = corners((0, 36), (24, 36), (40, 80))
    assert _from_below(_CUP, inside) == pytest.approx(36)
    assert solid_depth_mm(_CUP, inside, 50.0, 8, top=False) == pytest.approx(50)


def test_a_round_floor_is_met_first_at_the_axis_and_a_raised_one_at_the_rim_of_the_hole() -> None:
    assert _from_below(_CUP, corners((0, 30), (40, 70), (40, 80))) == pytest.approx(30)
    # A floor that rises by 1 in 2 towards the axis: 8 mm from it, it is 4 mm lower.
    punt = corners((0, 40), (20, 30), (40, 30), (40, 80))
    assert _from_below(_CUP, punt) == pytest.approx(36)


def test_a_pointed_end_is_as_deep_as_it_is_wide_enough() -> None:
    # A cone 50 wide at its base and 100 high is 8 wide at 84.
    assert _from_below(corners((50, 0), (0, 100)), None) == pytest.approx(84)


def test_a_waist_narrower_than_the_hole_ends_it() -> None:
    spindle = corners((20, 0), (20, 20), (6, 34), (6, 50), (20, 60))
    assert _from_below(spindle, None) == pytest.approx(32)
    assert solid_depth_mm(spindle, None, None, 8, top=True) == pytest.approx(
        60 - (60 - 12 * 10 / 14)
    )


def test_a_hollowed_foot_is_passed() -> None:
    outside = corners((0, 6), (15, 6), (15, 0), (50, 0), (50, 80))
    assert _from_below(outside, corners((0, 36), (24, 36), (40, 80))) == pytest.approx(36)


def test_an_end_narrower_than_the_hole_holds_nothing() -> None:
    assert _from_below(corners((6, 0), (40, 60)), None) == 0


def test_tubes_and_mouths_hold_nothing() -> None:
    assert _from_below(_CUP, corners((30, 0), (30, 80))) == 0
    inside = corners((0, 36), (24, 36), (40, 80))
    assert solid_depth_mm(_CUP, inside, None, 8, top=True) == 0


def test_a_smooth_bowl_on_its_floor() -> None:
    inside = smooth((0, 12), (25, 18), (44, 60), (46, 80))
    assert _from_below(_CUP, inside) == pytest.approx(12, abs=0.01)
