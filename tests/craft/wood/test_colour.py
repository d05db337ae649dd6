"""CIELAB and CIEDE2000.

The pairs are from G. Sharma, W. Wu and E. N. Dalal, "The CIEDE2000 color-difference formula:
implementation notes, supplementary test data, and mathematical observations" (Color Research and
Application 30, 2005), table 1, written down from memory. White and grey are exact by definition.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.craft.wood.colour import ciede2000, lab_of_hex, nearest_colours

PAIRS = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
    ((50.0, 2.8361, -74.0200), (50.0, 0.0, -82.7485), 3.4412),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5), 4.3065),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
]


@pytest.mark.parametrize(("one", "other", "apart"), PAIRS)
def test_published_colour_differences(
    one: tuple[float, ...], other: tuple[float, ...], apart: float
) -> None:
    assert float(ciede2000(np.array(one), np.array(other))) == pytest.approx(apart, abs=5e-5)


def test_white_black_and_grey_lie_on_the_axis() -> None:
    assert lab_of_hex("#ffffff") == pytest.approx([100, 0, 0], abs=0.02)
    assert lab_of_hex("#000000") == pytest.approx([0, 0, 0], abs=1e-9)
    _, a, b = lab_of_hex("#777777")
    assert abs(a) < 0.02
    assert abs(b) < 0.02


@given(st.lists(st.integers(0, 255), min_size=6, max_size=6))
def test_a_difference_is_the_same_both_ways(channels: list[int]) -> None:
    one, other = (
        lab_of_hex("#" + "".join(f"{c:02x}" for c in three))
        for three in (channels[:3], channels[3:])
    )
    there, back = float(ciede2000(one, other)), float(ciede2000(other, one))
    assert there == pytest.approx(back, abs=1e-9)
    assert there >= 0


def test_the_nearest_of_a_palette() -> None:
    palette = np.stack([lab_of_hex(c) for c in ("#84432c", "#dfcaa0", "#453128")])
    wanted = np.stack([lab_of_hex(c) for c in ("#e0d0b0", "#3a2a20", "#90402a")])
    assert list(nearest_colours(wanted, palette)) == [1, 2, 0]
