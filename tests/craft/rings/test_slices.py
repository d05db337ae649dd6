"""Slices that the planer is set to once."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.craft.rings.slices import alike_slices
from server.craft.units import PLANED_MM


def test_all_but_the_last_lie_on_the_rule() -> None:
    assert alike_slices(100, 6, 0.5) == [17.0] * 5 + [15.0]
    inches = [mm / 25.4 for mm in alike_slices(8.5 * 25.4, 12, PLANED_MM["in"])]
    assert inches == pytest.approx([23 / 32] * 11 + [19 / 32])


def test_a_height_that_divides_on_the_rule_is_divided_evenly() -> None:
    assert alike_slices(190, 10, 0.5) == [19.0] * 10


def test_slices_too_thin_for_the_rule_are_alike() -> None:
    assert alike_slices(4, 7, 0.5) == [4 / 7] * 7
    assert alike_slices(100, 6) == [100 / 6] * 6


@given(st.floats(1, 3000), st.integers(1, 200), st.sampled_from([None, 0.5, 25.4 / 32]))
def test_they_come_to_the_height(height: float, number: int, mark: float | None) -> None:
    slices = alike_slices(height, number, mark)
    assert len(slices) == number
    assert sum(slices) == pytest.approx(height)
    assert slices[-1] > 0
