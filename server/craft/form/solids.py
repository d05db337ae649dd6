"""Volume, balance, contents and surface of a turned form, by integrals along its curves.

Everything goes round the half section (Green's theorem): volume π∮r² dz and its moment π∮r²z dz.
Along a Bézier span both are polynomials, which Gauss and Legendre's rule integrates exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache

import numpy as np

from server.craft.form.curves import Curve
from server.craft.form.cuts import cut_curve
from server.craft.form.section import (
    fill_level,
    floor_level,
    foot_line,
    is_closed_above,
    rim_line,
)
from server.craft.form.slopes import Floats
from server.craft.form.tolerance import PLANE_MM
from server.craft.records import record

_EXACT = 6
"""Points for r²z·dz/dt, of degree 11 in t."""

_SMOOTH = 24
"""Points for lengths and areas, which are no polynomials."""


@record
class Solid:
    """A body of revolution: how much of it there is, and the height of its centroid.

    The height is that of nothing (0) where there is no volume.
    """

    volume_mm3: float
    centroid_mm: float


def body(outside: Curve, inside: Curve | None = None, floor_mm: float | None = None) -> Solid:
    """The wood of the finished form, everything between its lowest and its highest point."""
    low, high = _reach(outside, inside)
    return slab_solids(outside, inside, floor_mm, [low, high])[0]


def slab_solids(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes: Sequence[float]
) -> list[Solid]:
    """The finished wood of each ring: what lies between neighbouring planes (mm, rising)."""
    return list(_slab_solids(outside, inside, floor_mm, tuple(planes)))


@lru_cache(maxsize=64)
def _slab_solids(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes: tuple[float, ...]
) -> tuple[Solid, ...]:
    volume, moment = section_integrals(
        outside, inside, floor_mm, planes, lambda r, z: np.stack([r**2, r**2 * z]), _EXACT
    )
    return tuple(
        _solid(math.pi * float(v), math.pi * float(m)) for v, m in zip(volume, moment, strict=True)
    )


@lru_cache(maxsize=64)
def contents(
    outside: Curve, inside: Curve, floor_mm: float | None = None, fill_mm: float | None = None
) -> Solid:
    """What the standing vessel holds, filled to the height `fill_mm` or to its brim.

    A bottomless tube or a hollow closed at the top holds nothing that could be poured.
    """
    line = rim_line(outside, inside)
    lowest = max(inside.bounds[1], fill_level(floor_mm))
    bottomless = not math.isfinite(floor_level(outside, inside, floor_mm))
    if bottomless or is_closed_above(outside, inside):
        return Solid(0.0, 0.0)
    level = brim_height(outside, inside)
    if fill_mm is not None:
        level = min(level, fill_mm)
    if level <= lowest:
        return Solid(0.0, 0.0)
    totals = np.zeros(2)
    for curve in (inside, line):
        if curve is not None:
            cut = along(curve, [lowest, level], lambda r, z: np.stack([r**2, r**2 * z]), _EXACT)
            totals += cut[:, 0]
    return _solid(math.pi * float(totals[0]), math.pi * float(totals[1]))


def brim_height(outside: Curve, inside: Curve) -> float:
    """Height at which the vessel would overflow: the top of the inside and of the rim."""
    return max(inside.bounds[3], float(outside.spans[-1, 3, 1]))


def surface_mm2(curve: Curve) -> float:
    """Area swept by the curve turning about the axis."""
    nodes, weights = _gauss(_SMOOTH)
    t = np.broadcast_to(nodes, (len(curve.spans), len(nodes)))
    span = np.broadcast_to(np.arange(len(curve.spans))[:, None], t.shape)
    speed = np.hypot(*np.moveaxis(_velocity(curve, span, t), -1, 0))
    return float(2 * math.pi * (curve.at(span, t)[..., 0] * speed * weights).sum())


def foot_radius(outside: Curve) -> float:
    """Radius (mm) of the circle that the form stands on: the widest of its lowest points."""
    ends = outside.spans[:, (0, 3)].reshape(-1, 2)
    return float(ends[ends[:, 1] <= ends[:, 1].min() + PLANE_MM, 0].max())


def tip_angle_deg(foot_radius_mm: float, centre_of_gravity_mm: float) -> float:
    """How far the piece can be leant before it falls: foot radius against centre of gravity."""
    return math.degrees(math.atan2(foot_radius_mm, centre_of_gravity_mm))


def together(masses: Iterable[tuple[float, float]]) -> tuple[float, float]:
    """Total of pairs of mass and height, and the height of their common centre of gravity."""
    pairs = list(masses)
    total = math.fsum(mass for mass, _ in pairs)
    if total <= 0:
        return 0.0, 0.0
    return total, math.fsum(mass * height for mass, height in pairs) / total


def section_integrals(
    outside: Curve,
    inside: Curve | None,
    floor_mm: float | None,
    planes: Sequence[float],
    integrand: Callable[[Floats, Floats], Floats],
    points: int = _SMOOTH,
) -> Floats:
    """∮ integrand(r, z) dz round the half section within each slab; (k, slabs).

    The integrand returns k values a point, each of them 0 at r = 0. With f(r) its first integral,
    this is the integral of f′ over the section.
    """
    levels = np.asarray(planes, dtype=float)
    total = along(outside, levels, integrand, points)
    if inside is None:
        return total
    filled = np.maximum(levels, fill_level(floor_mm))
    total = total - along(inside, filled, integrand, points)
    rim = rim_line(outside, inside)
    if rim is not None:
        total = total - along(rim, levels, integrand, points)
    foot = foot_line(outside, inside, floor_mm)
    if foot is not None:
        total = total + along(foot, levels, integrand, points)
    return total


def along(
    curve: Curve,
    planes: Sequence[float] | Floats,
    integrand: Callable[[Floats, Floats], Floats],
    points: int,
) -> Floats:
    """∫ integrand(r, z) dz along the curve within each slab, walked from its start; (k, slabs)."""
    cuts = cut_curve(curve, planes)
    span, slab = cuts.within.nonzero()
    a, b = cuts.parameter[span, slab], cuts.parameter[span, slab + 1]
    start, length = np.minimum(a, b), np.abs(b - a)
    nodes, weights = _gauss(points)
    t = start[:, None] + length[:, None] * nodes
    c0, c1, c2, c3 = curve.powers[span].transpose(1, 2, 0)[..., None]
    r, z = ((c3 * t + c2) * t + c1) * t + c0
    rise = (3 * c3[1] * t + 2 * c2[1]) * t + c1[1]
    parts = (integrand(r, z) * rise) @ weights * length
    return np.stack([np.bincount(slab, part, cuts.within.shape[1]) for part in parts])


def _velocity(
    curve: Curve, span: np.ndarray[tuple[int, ...], np.dtype[np.intp]], t: Floats
) -> Floats:
    c = curve.powers[span]
    u = t[..., None]
    result: Floats = (3 * c[..., 3, :] * u + 2 * c[..., 2, :]) * u + c[..., 1, :]
    return result


def _reach(outside: Curve, inside: Curve | None) -> tuple[float, float]:
    bounds = [outside.bounds] + ([inside.bounds] if inside is not None else [])
    return min(b[1] for b in bounds), max(b[3] for b in bounds)


def _solid(volume: float, moment: float) -> Solid:
    return Solid(volume, moment / volume) if volume > 0 else Solid(max(volume, 0.0), 0.0)


@lru_cache
def _gauss(points: int) -> tuple[Floats, Floats]:
    """Nodes and weights of Gauss and Legendre's rule on 0 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(points)
    return (nodes + 1) / 2, weights / 2
