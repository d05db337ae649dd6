"""Times by temperature and lots by open time. Common practice: what is tested is its arithmetic."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.craft.glue.adhesives import Glue, all_glues, glue
from server.craft.glue.timing import (
    SPREADING_SOURCE,
    TEMPERATURE_SOURCE,
    Batch,
    is_too_cold,
    spreading,
    suggested_batch,
    times,
)
from server.craft.wood.sources import SourceKind

GLUES = st.sampled_from(all_glues())
YELLOW = glue("pva-yellow")


@pytest.mark.parametrize("celsius", [18.0, 20.0, 24.0])
def test_a_warm_shop_has_the_glues_own_times(celsius: float) -> None:
    found = times(YELLOW, celsius)
    assert (found.press_minutes, found.rest_minutes, found.cure_hours) == (30.0, 30.0, 24.0)
    assert found.open_minutes == 5.0
    assert not found.too_cold


def test_ten_degrees_colder_takes_twice_as_long() -> None:
    found = times(glue("epoxy-slow"), 8.0)
    assert found.press_minutes == pytest.approx(2 * 720)
    assert found.cure_hours == pytest.approx(2 * 72)
    assert found.open_minutes == 20.0
    assert found.too_cold


def test_ten_degrees_hotter_halves_the_open_time_only() -> None:
    found = times(YELLOW, 34.0)
    assert found.open_minutes == pytest.approx(2.5)
    assert found.press_minutes == 30.0


@given(GLUES, st.floats(-20, 45), st.floats(0, 20))
def test_warmer_never_presses_longer_nor_stays_open_longer(
    one: Glue, celsius: float, more: float
) -> None:
    cool, warm = times(one, celsius), times(one, celsius + more)
    assert warm.press_minutes <= cool.press_minutes
    assert warm.rest_minutes <= cool.rest_minutes
    assert warm.cure_hours <= cool.cure_hours
    assert warm.open_minutes <= cool.open_minutes


@given(GLUES)
def test_at_its_least_temperature_a_glue_still_holds(one: Glue) -> None:
    assert not is_too_cold(one, one.least_temperature_c)
    assert is_too_cold(one, one.least_temperature_c - 0.01)
    assert times(one, one.least_temperature_c - 0.01).too_cold


def test_sources_are_not_overstated() -> None:
    assert TEMPERATURE_SOURCE.kind is SourceKind.COMMON_PRACTICE
    assert SPREADING_SOURCE.kind is SourceKind.COMMON_PRACTICE


def test_thirty_joints_of_ten_seconds_just_fit_five_minutes() -> None:
    assert spreading(YELLOW, 20.0, 30).fits
    assert spreading(YELLOW, 20.0, 30).minutes == pytest.approx(5.0)
    assert not spreading(YELLOW, 20.0, 31).fits


@pytest.mark.parametrize(
    ("segments", "batch", "joints"),
    [
        (12, Batch.WHOLE, 12),
        (30, Batch.WHOLE, 30),
        (31, Batch.HALVES, 15),  # parts of 16 and 15 segments
        (62, Batch.HALVES, 30),
        (63, Batch.THIRDS, 20),  # halves of 32 would have 31 joints
        (72, Batch.THIRDS, 23),
        (93, Batch.THIRDS, 30),
        (94, Batch.PAIRS, 1),
    ],
)
def test_the_largest_lot_that_stays_open(segments: int, batch: Batch, joints: int) -> None:
    found = suggested_batch(YELLOW, 20.0, segments)
    assert (found.batch, found.joints, found.fits) == (batch, joints, True)


def test_a_glue_too_quick_even_for_pairs_does_not_fit() -> None:
    found = suggested_batch(glue("cyanoacrylate"), 20.0, 12, seconds_per_joint=40)
    assert found.batch is Batch.PAIRS
    assert not found.fits


@given(GLUES, st.floats(5, 40), st.integers(3, 360), st.floats(1, 60))
def test_a_lot_that_fits_is_spread_in_time(
    one: Glue, celsius: float, segments: int, seconds: float
) -> None:
    found = suggested_batch(one, celsius, segments, seconds)
    assert found.fits == (found.joints * seconds / 60 <= times(one, celsius).open_minutes)
    assert 1 <= found.joints <= segments
