"""Pressure on a joint: the trade's worked case, the handbook's ends, and balance of forces."""

from math import ceil, cos, pi, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.craft.glue.pressure import (
    HANDBOOK_SOURCE,
    LEAST_MPA,
    LEAST_SOURCE,
    PLATE_SOURCE,
    Enough,
    band_joint_pressure_mpa,
    band_length_mm,
    band_tension_n,
    clamp_places_deg,
    clamps_to_reach,
    handbook_pressure_mpa,
    joint_face_mm2,
    plate,
    pressing,
    pressure_mpa,
    ring_area_mm2,
)
from server.craft.wood.sources import SourceKind

MPA_PER_PSI = 0.45359237 * 9.80665 / 0.0254**2 / 1e6

AREAS = st.floats(10, 200_000)
FORCES = st.floats(0, 10_000)
CLAMPS = st.floats(50, 5_000)
EVEN = st.integers(2, 36).map(lambda half: 2 * half)
TARGETS = st.floats(0.05, 2)


def test_the_worked_lathe_press() -> None:
    # 1,500 N on a ring of R 75, r 55: 0.18 MPa.
    assert pressure_mpa(1500.0, ring_area_mm2(75.0, 55.0)) == pytest.approx(0.18, abs=0.005)


def test_nothing_to_press_is_no_division_by_zero() -> None:
    assert pressure_mpa(1500.0, 0.0) == float("inf")


@pytest.mark.parametrize(
    ("gravity", "psi"),
    # Wood Handbook, chapter 10, remembered: 100 lbf/in² for the lightest, 247 for the densest.
    [(0.35, 100.0), (0.70, 247.0), (0.2, 100.0), (1.1, 247.0)],
)
def test_the_handbooks_ends(gravity: float, psi: float) -> None:
    assert handbook_pressure_mpa(gravity) == pytest.approx(psi * MPA_PER_PSI, abs=0.005)


def test_half_way_is_half_way() -> None:
    assert handbook_pressure_mpa(0.525) == pytest.approx((0.69 + 1.70) / 2)


def test_sources_are_not_overstated() -> None:
    assert HANDBOOK_SOURCE.kind is SourceKind.REMEMBERED
    assert LEAST_SOURCE.kind is SourceKind.COMMON_PRACTICE
    assert PLATE_SOURCE.kind is SourceKind.COMMON_PRACTICE


@given(st.floats(0.1, 1.3), st.floats(0, 0.5))
def test_denser_wood_is_never_pressed_less(gravity: float, more: float) -> None:
    assert handbook_pressure_mpa(gravity) <= handbook_pressure_mpa(gravity + more)


@given(TARGETS, AREAS, FORCES, CLAMPS)
def test_the_clamps_reach_the_pressure_and_one_less_does_not(
    target: float, area: float, force: float, clamp: float
) -> None:
    count = clamps_to_reach(target, area, force, clamp)
    slack = 1e-6 * clamp
    assert force + count * clamp >= target * area - slack
    if count:
        assert force + (count - 1) * clamp < target * area


def test_a_pressure_just_reached_needs_no_clamp() -> None:
    # 0.15 MPa on 10,000 mm² is 1,500 N to the last bit or one off it.
    assert clamps_to_reach(0.15, 10_000.0, 1500.0, 800.0) == 0
    assert clamps_to_reach(0.15, 10_000.0, 1500.0 - 1e-10, 800.0) == 0
    assert clamps_to_reach(0.15, 10_000.0, 1499.0, 800.0) == 1


@given(st.integers(1, 40), CLAMPS)
def test_whole_numbers_of_clamps_stay_whole(count: int, clamp: float) -> None:
    assert clamps_to_reach(count * clamp / 3333.0, 3333.0, 0.0, clamp) == count


def test_clamps_without_force_are_refused_only_where_needed() -> None:
    assert clamps_to_reach(0.15, 1000.0, 1500.0, 0.0) == 0
    with pytest.raises(ValueError, match="some force"):
        clamps_to_reach(0.15, 100_000.0, 1500.0, 0.0)


@pytest.mark.parametrize(
    ("force", "enough"),
    [
        (LEAST_MPA * 8000 - 1, Enough.TOO_LITTLE),
        (LEAST_MPA * 8000, Enough.BELOW_HANDBOOK),
        (1.70 * 8000 - 1, Enough.BELOW_HANDBOOK),
        (1.70 * 8000, Enough.HANDBOOK),
    ],
)
def test_how_a_pressure_stands(force: float, enough: Enough) -> None:
    assert pressing(8000.0, force, 800.0, 0.70).enough is enough


def test_a_wide_ring_in_a_weak_press() -> None:
    area = ring_area_mm2(150.0, 125.0)  # 21,598 mm²
    found = pressing(area, 1500.0, 800.0, 0.63)
    assert found.pressure_mpa == pytest.approx(1500 / area)
    assert found.enough is Enough.TOO_LITTLE
    assert found.clamps_to_least == ceil((0.15 * area - 1500) / 800) == 3
    assert found.clamps_to_handbook > found.clamps_to_least


@given(st.integers(1, 24))
def test_clamps_balance_each_other(count: int) -> None:
    """Forces evenly round the ring have no moment about its centre, but for a single one."""
    places = [radians(place) for place in clamp_places_deg(count)]
    assert len(set(places)) == count
    if count > 1:
        assert sum(cos(place) for place in places) == pytest.approx(0.0, abs=1e-9)
        assert sum(sin(place) for place in places) == pytest.approx(0.0, abs=1e-9)


def test_a_plate_is_needed_beyond_one_and_a_half_times_the_presser() -> None:
    assert not plate(150.0, 100.0).needed
    found = plate(150.1, 100.0)
    assert found.needed
    assert found.limit_mm == pytest.approx(150.0)
    assert found.plate_diameter_mm == 150.1


@given(st.floats(10, 5000), st.floats(3, 100), EVEN, st.floats(5, 60))
def test_the_band_balances_half_a_ring(
    tension: float, width: float, segments: int, thickness: float
) -> None:
    """Half a ring is in balance: two strands of the band pull, two joints push back.

    At two joints across a diameter the faces stand square to the pull, so the push is the
    pressure times the face.
    """
    half_angle = 180.0 / segments
    pressure = band_joint_pressure_mpa(tension, width, half_angle, thickness)
    face = (width / cos(radians(half_angle))) * thickness
    assert 2 * pressure * face == pytest.approx(2 * tension)
    assert joint_face_mm2(width, half_angle, thickness) == pytest.approx(face)
    needed = band_tension_n(pressure, width, half_angle, thickness)
    assert needed == pytest.approx(tension)


def test_the_band_goes_round_the_flats() -> None:
    # A hexagon whose flats stand 50 mm from its centre has edges of 2·50·tan 30° = 57.735 mm
    # (Machinery's Handbook, regular polygons: S = 1.1547 r).
    assert band_length_mm(6, 50.0, tail_mm=0.0) == pytest.approx(6 * 1.1547 * 50, abs=0.01)
    assert band_length_mm(6, 50.0) == pytest.approx(6 * 57.735 + 150, abs=0.01)


@given(st.integers(3, 360), st.floats(10, 1000))
def test_the_band_is_longer_than_the_circle_inside_it(segments: int, radius: float) -> None:
    assert band_length_mm(segments, radius, tail_mm=0.0) > 2 * pi * radius
