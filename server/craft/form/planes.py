"""The finished wood at a glue plane: what two rings have in common there."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from server.craft.form.curves import Curve
from server.craft.form.cuts import cut_curve
from server.craft.form.section import fill_level, foot_line, rim_line
from server.craft.form.slopes import Floats
from server.craft.form.tolerance import PLANE_MM
from server.craft.records import record

Side = Literal["below", "above"]
_SIDES: Final = ("below", "above")
Annulus = tuple[float, float]
"""Inner and outer radius, mm."""


@record
class CommonFace:
    """Annuli of finished wood that two rings share, and the widest of their radial widths (mm)."""

    annuli: tuple[Annulus, ...]

    @property
    def width_mm(self) -> float:
        """Radial width of the widest annulus; 0 where nothing is shared."""
        return max((big - small for small, big in self.annuli), default=0.0)


def common_faces(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes_mm: Sequence[float]
) -> list[CommonFace]:
    """What the finished form has just below and just above each plane, both."""
    return list(_common_faces(outside, inside, floor_mm, tuple(planes_mm)))


@lru_cache(maxsize=64)
def _common_faces(
    outside: Curve, inside: Curve | None, floor_mm: float | None, planes_mm: tuple[float, ...]
) -> tuple[CommonFace, ...]:
    below, above = (wood_at(outside, inside, floor_mm, planes_mm, side) for side in _SIDES)
    return tuple(_common(low, high) for low, high in zip(below, above, strict=True))


def wood_at(
    outside: Curve,
    inside: Curve | None,
    floor_mm: float | None,
    planes_mm: Sequence[float],
    side: Side,
) -> list[tuple[Annulus, ...]]:
    """Annuli of wood in the limit towards each plane from one side, from the axis outward."""
    planes = np.asarray(planes_mm, dtype=float)
    curves = [outside]
    if inside is not None:
        lines = (rim_line(outside, inside), foot_line(outside, inside, floor_mm))
        curves += [line for line in lines if line is not None]
    met = [_limits(curve, planes, side) for curve in curves]
    if inside is not None:
        reach = PLANE_MM if side == "below" else -PLANE_MM
        open_planes = planes > fill_level(floor_mm) + reach
        met.append(_limits(inside, planes, side, open_planes))
    return [_annuli([r for some in radii for r in some]) for radii in zip(*met, strict=True)]


def _common(below: Sequence[Annulus], above: Sequence[Annulus]) -> CommonFace:
    shared = [(max(a[0], b[0]), min(a[1], b[1])) for a in below for b in above]
    return CommonFace(tuple(face for face in sorted(shared) if face[1] > face[0]))


def _annuli(radii: list[float]) -> tuple[Annulus, ...]:
    """Wood lies between each second pair of crossings, counted from the outermost inward."""
    edges = sorted(radii)
    if len(edges) % 2:
        edges.insert(0, 0.0)
    pairs = zip(edges[::2], edges[1::2], strict=True)
    return tuple((small, big) for small, big in pairs if big > small)


def _limits(
    curve: Curve, planes: Floats, side: Side, where: NDArray[np.bool_] | None = None
) -> list[list[float]]:
    """For each plane, the radii where the curve leaves it towards that side or crosses it."""
    low, high = (box[:, 1:] for box in curve.boxes)
    if side == "above":
        met = (low <= planes + PLANE_MM) & (high > planes + PLANE_MM)
    else:
        met = (high >= planes - PLANE_MM) & (low < planes - PLANE_MM)
    met &= high - low > 2 * PLANE_MM
    if where is not None:
        met &= where
    plane, span = met.T.nonzero()
    radius = cut_curve(curve, planes).radius[span, plane].tolist()
    ends = plane.searchsorted(np.arange(len(planes) + 1)).tolist()
    return [radius[first:last] for first, last in pairwise(ends)]
