"""Stacks as the person gluing sees them."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.rings.segments import flat_ring, joint_angles_deg
from server.craft.rings.stacks import (
    as_seen,
    matching_mark,
    register_mark,
    seen_joints_deg,
    zero_mark,
)

_phases = st.floats(0, 0.999)


@given(st.integers(3, 72), _phases)
@settings(deadline=None)
def test_seen_from_below_every_segment_lies_mirrored(count: int, phase: float) -> None:
    seen = as_seen(phase, count, "top")
    assert 0 <= seen.phase < 1
    pitch = 360 / count
    for k in range(count):
        number = (seen.first_segment + k * seen.step) % count
        # Middles: in the drawing, and as laid counter-clockwise from the seen phase.
        drawn = (phase + number + 0.5) * pitch
        laid = (seen.phase + k + 0.5) * pitch
        assert (drawn + laid + 1e-6) % 360 == pytest.approx(1e-6, abs=1e-6)


@given(st.lists(st.floats(0.5, 2), min_size=4, max_size=12), _phases)
@settings(deadline=None)
def test_unequal_shares_keep_their_order_mirrored(shares: list[float], phase: float) -> None:
    ring = flat_ring(len(shares), 80, 60, shares=[1 + share for share in shares])
    seen = as_seen(phase, len(shares), "top", shares=True)
    assert (seen.first_segment, seen.step) == (len(shares) - 1, -1)
    angles = [2 * shape.half_angle_deg for shape in ring.segments]
    pitch = 360 / len(shares)
    drawn = phase * pitch + np.cumsum([0, *angles])
    laid = seen.phase * pitch + np.cumsum([0, *reversed(angles)])
    both = np.mod(drawn[::-1] + laid + 1e-6, 360)
    assert both == pytest.approx(np.full(len(both), 1e-6), abs=1e-6)


def test_seen_from_above_nothing_changes() -> None:
    seen = as_seen(0.25, 12, "bottom")
    assert (seen.phase, seen.first_segment, seen.step) == (0.25, 0, 1)


def test_a_quarter_pitch_is_three_quarters_from_below() -> None:
    seen = as_seen(0.25, 12, "top")
    # The joint at −0.25 pitches is the drawing's second-last: segment 10 follows it from below.
    assert (seen.phase, seen.first_segment, seen.step) == (0.75, 10, -1)


def test_bricks_stay_bricks() -> None:
    assert as_seen(0.0, 12, "top").phase == 0
    assert as_seen(0.5, 12, "top").phase == 0.5


def test_marks_along_the_rim() -> None:
    # A quarter of a 30° pitch on a rim of 80 mm.
    mark = zero_mark(as_seen(0.25, 12, "bottom"), 12, 80)
    assert mark.turn_deg == 7.5
    assert mark.along_rim_mm == pytest.approx(2 * math.pi * 80 * 7.5 / 360)
    assert zero_mark(as_seen(0.25, 12, "top"), 12, 80).turn_deg == 22.5


def test_a_ring_is_laid_from_a_joint_of_the_one_before() -> None:
    lower = joint_angles_deg(flat_ring(12, 80, 60), 0.25)
    upper = joint_angles_deg(flat_ring(12, 80, 60), 0.75)
    assert register_mark(lower, upper, 80).turn_deg == pytest.approx(15)
    assert register_mark(lower, upper, 80, "top").turn_deg == pytest.approx(15)
    finer = joint_angles_deg(flat_ring(24, 80, 60), 0.25)
    assert register_mark(lower, finer, 80).turn_deg == pytest.approx(11.25)
    assert register_mark(lower, finer, 80, "top").turn_deg == pytest.approx(3.75)


@given(st.integers(3, 24), _phases, st.integers(3, 24), _phases)
@settings(deadline=None)
def test_joined_stacks_have_their_joints_where_the_drawing_has_them(
    n: int, p: float, m: int, q: float
) -> None:
    lower = joint_angles_deg(flat_ring(n, 80, 60), p)
    upper = joint_angles_deg(flat_ring(m, 80, 60), q)
    mark = matching_mark(lower, upper, 80)
    joint = (lower[0] + mark.turn_deg) % 360
    assert np.abs((np.array(upper) - joint + 180) % 360 - 180).min() < 1e-6
    assert 0 <= mark.turn_deg <= 360 / m + 1e-9
    assert mark.along_rim_mm == pytest.approx(math.radians(mark.turn_deg) * 80)


def test_mirrored_joints_are_ascending_again() -> None:
    assert seen_joints_deg((10.0, 130.0, 250.0), "top") == (110.0, 230.0, 350.0)
