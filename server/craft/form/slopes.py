"""Slopes for a curve that passes through values without overshooting them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def monotone_slopes(at: Floats, values: Floats) -> Floats:
    """Slopes at each of the rising stations `at`, such that the cubic stays between its neighbours.

    Inside: the weighted harmonic mean of Fritsch and Butland (SIAM J. Sci. Stat. Comput. 5, 1984),
    zero at a turning point; at the ends the one-sided three-point slope, limited so that the end
    spans stay monotone too.
    """
    step = np.diff(at)
    secant = np.diff(values) / step
    if len(secant) == 1:
        return np.repeat(secant, 2)
    slopes = np.zeros_like(values)
    before, after = secant[:-1], secant[1:]
    weight_before = 2 * step[1:] + step[:-1]
    weight_after = step[1:] + 2 * step[:-1]
    same_way = before * after > 0
    mean = np.zeros_like(before)
    np.divide(
        (weight_before + weight_after) * before * after,
        weight_before * after + weight_after * before,
        out=mean,
        where=same_way,
    )
    slopes[1:-1] = mean
    slopes[0] = _end_slope(step[0], step[1], secant[0], secant[1])
    slopes[-1] = _end_slope(step[-1], step[-2], secant[-1], secant[-2])
    return slopes


def _end_slope(near_step: float, far_step: float, near: float, far: float) -> float:
    slope = ((2 * near_step + far_step) * near - near_step * far) / (near_step + far_step)
    if slope * near <= 0:
        return 0.0
    if near * far < 0 and abs(slope) > 3 * abs(near):
        return 3 * near
    return slope
