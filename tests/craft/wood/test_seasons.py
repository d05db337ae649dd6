"""Seasonal gaps against the worked value and against rings built from points in the plane."""

from math import atan2, cos, degrees, hypot, pi, radians, sin, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.craft.wood.moisture import equilibrium_moisture_percent
from server.craft.wood.movement import relative_change
from server.craft.wood.seasons import (
    Side,
    disc_over_ring_mm,
    floating_gap_mm,
    joint_gap,
    mitre_change_deg,
    season_gap,
    season_gap_mm,
    stave_over_ring_mm,
    worst_season_gap,
)
from server.craft.wood.species import species

SEGMENTS = st.integers(3, 120)
WIDTHS = st.floats(2, 200)
SWELLING = st.floats(-0.08, 0.08)


def test_the_worked_ring() -> None:
    # 12 segments, 25 mm wide, 1 % wider: 0.128 mm at each joint, open outside.
    gap = season_gap(12, 25.0, 0.01)
    assert gap.gap_mm == pytest.approx(0.128, abs=0.0005)
    assert gap.opens == "outside"


def test_drier_opens_inside_and_unchanged_nowhere() -> None:
    assert season_gap(12, 25.0, -0.01).opens == "inside"
    assert season_gap(12, 25.0, 0.0).opens == "nowhere"
    assert season_gap_mm(12, 25.0, 0.0) == 0.0


def face_direction_deg(theta_deg: float, s: float) -> float:
    """The mitre that a protractor finds on a segment whose width was stretched by s.

    Drawn as two points of the end face: the outer corner, and the inner one, which lies the
    width nearer the centre and tan θ of the width nearer the middle. Stretching the width
    moves the second along the width only.
    """
    outer = (tan(radians(theta_deg)), 1.0)
    inner = (0.0, 1.0 - 1.0 * (1.0 + s))
    return degrees(atan2(outer[0] - inner[0], outer[1] - inner[1]))


@given(SEGMENTS, SWELLING)
def test_the_mitre_turns_as_a_stretched_drawing_does(segments: int, s: float) -> None:
    theta = 180.0 / segments
    assert theta + mitre_change_deg(theta, s) == pytest.approx(face_direction_deg(theta, s))


@given(SEGMENTS, WIDTHS, SWELLING)
def test_the_gap_is_the_distance_between_the_open_corners(
    segments: int, width: float, s: float
) -> None:
    """Two neighbour faces hinged at their closed end; the open ends measured apart."""
    theta = pi / segments
    turned = radians(mitre_change_deg(degrees(theta), s))
    face = width / cos(theta)
    one = (face * cos(turned), face * sin(turned))
    other = (face * cos(-turned), face * sin(-turned))
    apart = hypot(one[0] - other[0], one[1] - other[1])
    # The arc that the formula gives is longer than its chord by little more than δ²/6 of it.
    assert season_gap_mm(segments, width, s) == pytest.approx(
        apart, rel=turned**2 / 5 + 1e-9, abs=1e-12
    )


@given(st.integers(6, 120), WIDTHS, st.floats(-0.01, 0.01))
def test_the_rule_of_thumb_is_close(segments: int, width: float, s: float) -> None:
    # 2·|s|·W·sin θ, good to about s itself, and s·cos²θ of it is second order.
    thumb = 2 * abs(s) * width * sin(pi / segments)
    assert season_gap_mm(segments, width, s) == pytest.approx(thumb, rel=0.012, abs=1e-12)


@given(SEGMENTS, WIDTHS, SWELLING)
def test_a_joint_of_two_equal_faces_is_a_joint_of_the_ring(
    segments: int, width: float, s: float
) -> None:
    side = Side(180.0 / segments, s)
    assert joint_gap(side, side, width) == season_gap(segments, width, s)


@given(SEGMENTS, WIDTHS, SWELLING)
def test_a_still_neighbour_halves_the_gap(segments: int, width: float, s: float) -> None:
    theta = 180.0 / segments
    half = joint_gap(Side(theta, s), Side(theta, 0.0), width)
    assert 2 * half.gap_mm == pytest.approx(season_gap_mm(segments, width, s))


def test_two_woods_that_move_against_each_other_keep_the_joint_closed_but_turn_it() -> None:
    theta = 15.0
    shrunk = Side(theta, -0.01)
    # What swells the mitre back by as much: tan θ/(1 + s) of the mirrored angle.
    swollen = Side(
        theta, tan(radians(theta)) / tan(radians(theta - mitre_change_deg(theta, -0.01))) - 1
    )
    assert joint_gap(shrunk, swollen, 25.0).gap_mm == pytest.approx(0.0, abs=1e-12)


def test_the_worst_season_of_a_maple_ring() -> None:
    maple = species("maple-sugar")
    built = equilibrium_moisture_percent(18, 50)
    winter = equilibrium_moisture_percent(20, 30)
    summer = equilibrium_moisture_percent(24, 65)
    found = worst_season_gap(maple, 12, 30.0, built, (winter, summer))
    each = {
        season: season_gap(12, 30.0, relative_change(maple, built, season))
        for season in (winter, summer)
    }
    assert found == max(each.values(), key=lambda gap: gap.gap_mm)
    assert each[winter].opens == "inside"
    assert each[summer].opens == "outside"
    assert found.opens == "inside"


def test_no_season_no_gap() -> None:
    assert worst_season_gap(species("sapele"), 12, 30.0, 9.0, ()).gap_mm == 0.0


def test_quarter_sawn_maple_gaps_about_half() -> None:
    maple = species("maple-sugar")
    flat = worst_season_gap(maple, 12, 30.0, 8.0, (12.0,), "flat").gap_mm
    quarter = worst_season_gap(maple, 12, 30.0, 8.0, (12.0,), "quarter").gap_mm
    # Table 13-5: .00165 radial, .00353 tangential.
    assert quarter / flat == pytest.approx(0.00165 / 0.00353, rel=0.01)


def test_a_disc_outgrows_its_ring_by_its_diameter_and_a_stave_by_its_radius() -> None:
    assert disc_over_ring_mm(60.0, 0.01) == pytest.approx(1.2)
    assert disc_over_ring_mm(60.0, -0.01) == pytest.approx(-1.2)
    assert stave_over_ring_mm(60.0, 0.01) == pytest.approx(0.6)


def test_a_floating_disc_has_room_for_the_wettest_season() -> None:
    assert floating_gap_mm(120.0, (-0.02, 0.005, 0.01)) == pytest.approx(1.2)
    assert floating_gap_mm(120.0, (-0.02,)) == 0.0
    assert floating_gap_mm(120.0, ()) == 0.0
