"""Speeds against printed conversions and motion worked out numerically."""

from math import cos, hypot, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.craft.lathe.speed import (
    SPEED_CAUTION,
    SPEED_SOURCE,
    rim_acceleration_m_s2,
    rim_speed_m_s,
    rpm_for,
    speed_band,
)
from server.craft.wood.sources import SourceKind

MPH = 0.44704
STANDARD_GRAVITY = 9.80665
DIAMETERS = st.floats(5, 1500)


def test_forty_miles_an_hour() -> None:
    # Said in the trade as "40 mph" for 13,500 inch·rpm; π·D·rpm/1056 gives 40.2.
    assert rim_speed_m_s(13_500 / 1000 * 25.4, 1000.0) / MPH == pytest.approx(40.2, abs=0.05)


def test_fourteen_inches_at_a_thousand_rpm_pull_with_199_g() -> None:
    found = rim_acceleration_m_s2(14 * 25.4, 1000.0) / STANDARD_GRAVITY
    assert found == pytest.approx(198.8, abs=0.05)


@given(DIAMETERS, st.floats(10, 4000))
def test_speed_and_pull_are_those_of_a_point_on_a_circle(diameter: float, rpm: float) -> None:
    """Oracle: differences of the rim's place over a small turn."""
    radius, step = diameter / 2000, 1e-4
    dt = step / (rpm * 2 * pi / 60)
    places = [(radius * cos(k * step), radius * sin(k * step)) for k in (-1, 0, 1)]
    (x0, y0), (x1, y1), (x2, y2) = places
    speed = hypot(x2 - x0, y2 - y0) / (2 * dt)
    pull = hypot(x2 - 2 * x1 + x0, y2 - 2 * y1 + y0) / dt**2
    assert rim_speed_m_s(diameter, rpm) == pytest.approx(speed, rel=1e-6)
    assert rim_acceleration_m_s2(diameter, rpm) == pytest.approx(pull, rel=1e-5)


def test_ten_inches_turn_at_600_to_900() -> None:
    band = speed_band(254.0, runs_true=True)
    assert (band.low_rpm, band.high_rpm) == (pytest.approx(600.0), pytest.approx(900.0))
    # π·0.254 m·15 /s
    assert band.high_rim_m_s == pytest.approx(11.97, abs=0.005)


def test_the_band_in_millimetres() -> None:
    # The same rule: 152,400 to 228,600 over the diameter in mm.
    band = speed_band(300.0, runs_true=True)
    assert band.low_rpm == pytest.approx(152_400 / 300)
    assert band.high_rpm == pytest.approx(228_600 / 300)


@given(DIAMETERS)
def test_untrue_work_stays_at_the_lower_limit(diameter: float) -> None:
    untrue = speed_band(diameter, runs_true=False)
    assert untrue.high_rpm == untrue.low_rpm == rpm_for(diameter, 6000.0)
    assert untrue.high_rim_m_s == untrue.low_rim_m_s


@given(DIAMETERS, DIAMETERS)
def test_the_rim_speed_of_the_band_does_not_depend_on_the_size(one: float, other: float) -> None:
    first, second = speed_band(one, runs_true=True), speed_band(other, runs_true=True)
    assert first.high_rim_m_s == pytest.approx(second.high_rim_m_s)
    assert (one < other) == (first.high_rpm > second.high_rpm) or one == pytest.approx(other)


@given(DIAMETERS, st.booleans())
def test_no_speed_without_its_caution(diameter: float, runs_true: bool) -> None:
    band = speed_band(diameter, runs_true=runs_true)
    assert band.caution == SPEED_CAUTION
    for words in ("manual comes first", "face shield", "line of the rim", "slowest speed"):
        assert words in band.caution_text
    assert SPEED_SOURCE.kind is SourceKind.COMMON_PRACTICE
