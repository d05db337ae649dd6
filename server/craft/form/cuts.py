"""Where a curve is cut by level planes: everything that is asked of a slab starts here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from server.craft.form.slopes import Floats
from server.craft.form.tolerance import PLANE_MM

if TYPE_CHECKING:
    from server.craft.form.curves import Curve

_ROUNDS = 80
"""Halvings of the interval that certainly end at neighbouring numbers."""

_REMEMBERED = 12
"""Cuts that a curve remembers: few, for a thousand planes by a thousand spans are large."""


@dataclass(frozen=True, slots=True, eq=False)
class CurveCuts:
    """A curve cut by rising planes; rows are spans, columns planes (or the slabs between them).

    `parameter` is where the span passes the plane, held at the span's end where it does not reach
    so far; `radius` is the curve there. `within` says which spans run through the open slab, and so
    a level shoulder that lies on a plane is in neither of the slabs that meet there.
    """

    parameter: Floats
    radius: Floats
    level: NDArray[np.bool_]
    within: NDArray[np.bool_]

    def slab_extremes(self) -> tuple[Floats, Floats]:
        """Least and greatest radius in each slab, limits at its faces included; NaN where none."""
        if self.within.shape[1] == 0:
            return np.empty(0), np.empty(0)
        first, last = self.radius[:, :-1], self.radius[:, 1:]
        least = np.where(self.within, np.minimum(first, last), np.inf).min(axis=0)
        greatest = np.where(self.within, np.maximum(first, last), -np.inf).max(axis=0)
        empty = least > greatest
        least[empty] = greatest[empty] = np.nan
        return least, greatest


def cut_curve(curve: Curve, planes_mm: Sequence[float] | Floats) -> CurveCuts:
    """Cut the curve by planes that rise from first to last (mm).

    The curve remembers its last cuts: radii, wood and faces are asked for at the same planes.
    """
    planes = np.asarray(planes_mm, dtype=float)
    asked = planes.tobytes()
    known = curve.cuts_made.get(asked)
    if known is None:
        known = _cut(curve, planes)
        if len(curve.cuts_made) >= _REMEMBERED:
            curve.cuts_made.clear()
        curve.cuts_made[asked] = known
    return known


def _cut(curve: Curve, planes: Floats) -> CurveCuts:
    first, last = curve.spans[:, 0, 1, None], curve.spans[:, 3, 1, None]
    low, high = np.minimum(first, last), np.maximum(first, last)
    level = (high - low)[:, 0] <= 2 * PLANE_MM
    rising = last >= first
    under = planes <= low + PLANE_MM
    over = planes >= high - PLANE_MM
    parameter = np.where(under == rising, 0.0, 1.0)
    crossing = ~(under | over)
    span, plane = (crossing & ~level[:, None]).nonzero()
    parameter[span, plane] = height_parameter(curve, span, planes[plane])
    # A level span inside a slab is run through from end to end, whichever way it is walked.
    above = planes > ((low + high) / 2)
    parameter[level] = np.where(above[level], 1.0, 0.0)
    radius = curve.radius_at(parameter)
    within = parameter[:, :-1] != parameter[:, 1:]
    on_plane = (np.abs(planes - (low + high) / 2) <= 2 * PLANE_MM)[level]
    within[level] &= ~(on_plane[:, :-1] | on_plane[:, 1:])
    for array in (parameter, radius, level, within):
        array.flags.writeable = False
    return CurveCuts(parameter, radius, level, within)


def height_parameter(curve: Curve, span: NDArray[np.intp], z_mm: Floats) -> Floats:
    """Parameters at which the spans reach heights that lie between those of their ends.

    Newton's steps kept inside a shrinking bracket: a span is monotone in height, but its slope may
    vanish at an end.
    """
    if len(span) == 0:
        return np.empty(0)
    first, last = curve.spans[span, 0, 1], curve.spans[span, 3, 1]
    t: Floats = (z_mm - first) / (last - first)
    # The height over the plane, as a cubic that rises: falling spans are turned over.
    c0, c1, c2, c3 = np.where(last < first, -1.0, 1.0) * curve.powers[span, :, 1].T
    c0 -= np.where(last < first, -z_mm, z_mm)
    twice_c2, thrice_c3 = 2 * c2, 3 * c3
    lo, hi = np.zeros(len(span)), np.ones(len(span))
    for _ in range(_ROUNDS):
        miss = ((c3 * t + c2) * t + c1) * t + c0
        lo, hi = np.where(miss <= 0, t, lo), np.where(miss >= 0, t, hi)
        slope = (thrice_c3 * t + twice_c2) * t + c1
        step = np.divide(miss, slope, out=np.full_like(t, np.inf), where=slope > 0)
        new: Floats = t - step
        kept = (new > lo) & (new < hi)
        if not kept.all():
            new = np.where(kept, new, (lo + hi) / 2)
        if (np.abs(new - t) <= 1e-14).all():
            return new
        t = new
    return t
