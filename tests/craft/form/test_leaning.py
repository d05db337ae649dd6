"""What leaning boards must clear, against many points of the curve."""

import math

import numpy as np
import pytest
from round_forms import corners, dense, random_outside, smooth

from server.craft.form.leaning import leaning_extremes, leant


def test_a_cone_is_upright_to_its_own_lean() -> None:
    cone = corners((55, 0), (55 + 100 * math.tan(math.radians(15)), 100))
    found = leaning_extremes(cone, 0, 100, 15, 100)
    assert found == pytest.approx((cone.bounds[2], cone.bounds[2]))


def test_a_bulge_in_a_leaning_wall_counts() -> None:
    # Radius and height both rise all the way; the belly lies between the planes.
    belly = smooth((40, 0), (70, 15), (75, 60))
    found = leaning_extremes(belly, 0, 60, 30, 60)
    assert found is not None
    at_ends = [r + math.tan(math.radians(30)) * (60 - z) for r, z in ((40, 0), (75, 60))]
    assert found[1] > max(at_ends) + 5


@pytest.mark.parametrize("seed", range(100))
def test_random_curves_agree_with_many_points(seed: int) -> None:
    rng = np.random.default_rng(seed)
    curve, lean = random_outside(seed), float(rng.uniform(-50, 50))
    low = float(rng.uniform(0, 60))
    high = low + float(rng.uniform(5, 28))
    points = dense(curve, 4000)
    points = points[(points[:, 1] > low) & (points[:, 1] < high)]
    carried = points[:, 0] + math.tan(math.radians(lean)) * (high - points[:, 1])
    found = leaning_extremes(curve, low, high, lean, high)
    assert found is not None
    assert found[0] <= carried.min() + 1e-9
    assert found[1] >= carried.max() - 1e-9
    assert found == pytest.approx((carried.min(), carried.max()), abs=0.1)


@pytest.mark.parametrize("lean", [-40, 0, 25])
def test_shearing_back_gives_the_curve(lean: float) -> None:
    curve = smooth((5, 0), (60, 10), (70, 60), (20, 90), (40, 120))
    sheared = leant(curve, lean, 50)
    spans = sheared.spans.copy()
    spans[..., 0] -= math.tan(math.radians(lean)) * (50 - spans[..., 1])
    ends = spans[:, 3]
    gaps = np.abs(dense(curve, 20000)[:, None, :2][::50] - ends).sum(axis=2).min(axis=0)
    assert gaps.max() < 0.5
    assert leaning_extremes(curve, 200, 220, lean, 220) is None
