"""Curves whose shape is known exactly, and random profiles to try things on."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from server.craft.form.curves import Curve, CurvePoint


def corners(*points: tuple[float, float]) -> Curve:
    """Straight from point to point (r, z)."""
    return Curve.through([CurvePoint(r, z, True) for r, z in points])


def smooth(*points: tuple[float, float]) -> Curve:
    """Smooth from end to end through these points (r, z)."""
    last = len(points) - 1
    return Curve.through([CurvePoint(r, z, i in (0, last)) for i, (r, z) in enumerate(points)])


def arc(
    centre: tuple[float, float], radius: float, from_deg: float, to_deg: float, pieces: int = 32
) -> Curve:
    """A circular arc in Bézier spans; at 32 a quarter it is off by less than 1e-11 of its radius.

    Angles from the outward direction, counter-clockwise in (r, z).
    """
    a = np.radians(np.linspace(from_deg, to_deg, pieces + 1))
    step = (a[1] - a[0]) / 4
    reach = 4 / 3 * math.tan(step)
    on = np.stack([np.cos(a), np.sin(a)], axis=1)
    along = np.stack([-np.sin(a), np.cos(a)], axis=1)
    spans = np.stack(
        [on[:-1], on[:-1] + reach * along[:-1], on[1:] - reach * along[1:], on[1:]], axis=1
    )
    spans = np.array(centre) + radius * spans
    spans[np.abs(spans) < 1e-12] = 0.0
    return Curve((), spans)


def parabola(
    start: tuple[float, float], middle: tuple[float, float], end: tuple[float, float]
) -> Curve:
    """A piece of a parabola from its three Bézier points, as a cubic."""
    p, q, s = (np.array(point, dtype=float) for point in (start, middle, end))
    return Curve((), np.array([[p, p + (q - p) * 2 / 3, s + (q - s) * 2 / 3, s]]))


def chained(*curves: Curve) -> Curve:
    """Curves that follow one another, as one."""
    return Curve((), np.concatenate([curve.spans for curve in curves]))


def dense(curve: Curve, per_span: int = 2000) -> NDArray[np.float64]:
    """Many points on the curve by Bernstein's sum, level spans by their ends."""
    t = np.linspace(0, 1, per_span + 1)
    weights = np.stack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3])
    points = np.einsum("kt,nkc->ntc", weights, curve.spans)
    # Rounding must not lift a level span off its height.
    level = curve.spans[:, 0, 1] == curve.spans[:, 3, 1]
    points[level, :, 1] = curve.spans[level, :1, 1]
    points[:, 0], points[:, -1] = curve.spans[:, 0], curve.spans[:, 3]
    return points.reshape(-1, 2)


def random_outside(seed: int, thickness: float = 12.7, rings: int = 7) -> Curve:
    """A profile without crossings: corners, shoulders, undercuts, points on the glue planes."""
    rng = np.random.default_rng(seed)
    while True:
        curve = Curve.through(_random_points(rng, thickness, rings))
        if curve.is_simple:
            return curve


def _random_points(rng: np.random.Generator, thickness: float, rings: int) -> list[CurvePoint]:
    height = thickness * rings
    points = [CurvePoint(float(rng.uniform(10, 60)), 0.0, True)]
    z = 0.0
    for _ in range(int(rng.integers(2, 8))):
        kind = rng.choice(["plane", "free", "shoulder", "back"], p=[0.3, 0.4, 0.2, 0.1])
        z = {
            "plane": thickness * float(rng.integers(0, rings + 1)),
            "free": float(rng.uniform(0, height)),
            "shoulder": z,
            "back": max(0.0, z - float(rng.uniform(0, 10))),
        }[str(kind)]
        points.append(CurvePoint(float(rng.uniform(10, 120)), z, bool(rng.random() < 0.4)))
    rising = sorted(points[1:], key=lambda p: p.z_mm) if rng.random() < 0.7 else points[1:]
    return [points[0], *rising, CurvePoint(float(rng.uniform(10, 120)), height, True)]


def planes(thickness: float, rings: int) -> list[float]:
    """Planes added up ring by ring, as a plan does, with what rounding leaves."""
    levels = [0.0]
    for _ in range(rings):
        levels.append(levels[-1] + thickness)
    return levels


def moved_in(curve: Curve, by: Sequence[float]) -> Curve:
    """The curve through the same points, each nearer to the axis by its own amount."""
    return Curve.through(
        [
            CurvePoint(max(0.5, p.r_mm - d), p.z_mm, p.corner)
            for p, d in zip(curve.points, by, strict=True)
        ]
    )
