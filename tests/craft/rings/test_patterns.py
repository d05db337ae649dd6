"""Patterns round a ring, worked by hand, and what must hold for all of them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.craft.errors import CraftError
from server.craft.rings.patterns import (
    brick_phases,
    climbing,
    gradient,
    mixed,
    painted,
    shortest,
    spiral_phases,
    whole,
)
from server.craft.rings.picture import Band, picture_pattern

WOODS = st.sampled_from(["ash", "wenge", "sapele"])


@given(st.lists(WOODS, min_size=1, max_size=24), st.integers(1, 5))
def test_the_shortest_pattern_repeats_to_the_whole(pattern: list[str], times: int) -> None:
    long = pattern * times
    short = shortest(long)
    assert whole(short, len(long)) == tuple(long)
    assert len(short) <= len(pattern)


def test_one_and_every_third_segment() -> None:
    assert painted(("a",) * 4, [2], "b") == ("a", "a", "b", "a")
    assert painted(("a",) * 6, [1], "b", every=3) == ("a", "b", "a", "a", "b", "a")
    with pytest.raises(CraftError, match="without a rest"):
        painted(("a",) * 8, [0], "b", every=3)


@given(st.integers(3, 72), st.floats(0, 1))
def test_a_mix_has_its_share_and_is_spread_evenly(segments: int, share: float) -> None:
    pattern = mixed(segments, "a", "b", share)
    wanted = round(segments * share)
    assert pattern.count("b") == wanted
    for size in range(1, segments + 1):
        inside = [(pattern * 2)[start : start + size].count("b") for start in range(segments)]
        assert max(inside) - min(inside) <= 1


def test_a_gradient_goes_from_one_wood_to_the_other() -> None:
    rings = gradient([8, 8, 8, 8, 8], "a", "b")
    assert [ring.count("b") for ring in rings] == [0, 2, 4, 6, 8]


def test_a_stripe_climbs_and_turns_back() -> None:
    plain = [("a",) * 8] * 5
    up = climbing(plain, "b", stripes=1, step=1)
    assert [ring.index("b") for ring in up] == [0, 1, 2, 3, 4]
    zigzag = climbing(plain, "b", stripes=2, step=1, turn_back=2)
    assert [ring.index("b") for ring in zigzag] == [0, 1, 2, 1, 0]
    assert all(ring.count("b") == 2 for ring in zigzag)
    with pytest.raises(CraftError, match="evenly"):
        climbing(plain, "b", stripes=3, step=1)


def test_phases_stay_within_one_pitch() -> None:
    assert brick_phases(3) == [0.0, 0.5, 0.0]
    assert spiral_phases(5, 0.25) == [0.0, 0.25, 0.5, 0.75, 0.0]


def test_a_picture_is_laid_round_the_wall_right_way_up() -> None:
    pixels = np.zeros((40, 80, 3), dtype=np.uint8)
    pixels[:20, 40:] = 255  # white above at the right: 180° to 360°
    bands = [Band(0, 10, 8, 0.0), Band(10, 20, 8, 0.0)]
    low, high = picture_pattern(pixels, bands, [("dark", "#000000"), ("light", "#ffffff")])
    assert low == ("dark",) * 8
    assert high == ("dark",) * 4 + ("light",) * 4


def test_a_turned_ring_sees_the_picture_turned() -> None:
    pixels = np.zeros((10, 8, 3), dtype=np.uint8)
    pixels[:, 4:6] = 255
    woods = [("dark", "#000000"), ("light", "#ffffff")]
    (straight,) = picture_pattern(pixels, [Band(0, 5, 4, 0.0)], woods)
    (turned,) = picture_pattern(pixels, [Band(0, 5, 8, 0.5)], woods)
    assert straight == ("dark", "dark", "light", "dark")
    # Segment 4 of 8 spans columns 4.5 to 5.5 of 8: it takes 4 and 5, both white.
    assert turned[4] == "light"
