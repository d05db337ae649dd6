"""A curve seen along a lean: what the straight boards of a stave ring must clear."""

from __future__ import annotations

import math

import numpy as np

from server.craft.form.curves import Curve
from server.craft.form.cuts import cut_curve
from server.craft.form.slopes import Floats


def leaning_extremes(
    curve: Curve, z0: float, z1: float, lean_deg: float, at_mm: float
) -> tuple[float, float] | None:
    """Least and greatest radius in the slab, carried to the height `at_mm` along the lean.

    The lean is from the vertical, positive where lines widen upward. Within the open slab, limits
    at its faces included, as for level rings. None where the curve does not reach the slab.
    """
    least, greatest = cut_curve(leant(curve, lean_deg, at_mm), [z0, z1]).slab_extremes()
    if np.isnan(least[0]):
        return None
    return float(least[0]), float(greatest[0])


def leant(curve: Curve, lean_deg: float, at_mm: float) -> Curve:
    """The curve sheared so that lines of this lean stand upright at their radius at `at_mm`.

    Its spans are parted where the sheared radius turns, so that each is monotone again. `points`
    are the drawing's own.
    """
    spans = curve.spans.copy()
    spans[..., 0] += math.tan(math.radians(lean_deg)) * (at_mm - spans[..., 1])
    parts = [part for span in spans for part in _parted(span)]
    return Curve(curve.points, np.array(parts))


def _parted(span: Floats) -> list[Floats]:
    """One span, cut at the turning points of its radius."""
    parts, left, done = [], span, 0.0
    for t in _turns(span[:, 0]):
        first, left = _split(left, (t - done) / (1 - done))
        parts.append(first)
        done = t
    return [*parts, left]


def _turns(r: Floats) -> list[float]:
    """Parameters inside the span where dr/dt changes its sign."""
    a, b, c = np.diff(r)
    # dr/dt = 3(a(1−t)² + 2b·t(1−t) + c·t²)
    roots = np.roots([a - 2 * b + c, 2 * (b - a), a])
    real = roots[np.abs(roots.imag) < 1e-12].real
    return sorted(float(t) for t in real if 1e-9 < t < 1 - 1e-9)


def _split(span: Floats, t: float) -> tuple[Floats, Floats]:
    """The two parts of a span cut at t (de Casteljau)."""
    first, last, level = [span[0]], [span[3]], span
    while len(level) > 1:
        level = level[:-1] + t * (level[1:] - level[:-1])
        first.append(level[0])
        last.append(level[-1])
    return np.array(first), np.array(last[::-1])
