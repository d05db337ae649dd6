"""Profile curves in the half plane of radius and height, millimetres, from bottom to top."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from server.craft.errors import CraftError
from server.craft.form.cuts import CurveCuts, cut_curve
from server.craft.form.slopes import Floats, monotone_slopes
from server.craft.form.tolerance import PLANE_MM, SAME_POINT_MM


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A point that a curve passes through; at a corner the curve may break its direction."""

    r_mm: float
    z_mm: float
    corner: bool = False


@dataclass(frozen=True, eq=False)
class Curve:
    """A chain of cubic Bézier spans, each of them monotone in radius and in height.

    `spans` is (n, 4, 2): four control points (r, z) in mm for each span. Between two corner points
    a span is straight; elsewhere the slopes are monotone (Fritsch and Carlson), taken coordinate by
    coordinate over the chord length, so that a span never leaves the box of its two end points and
    the height may stand still or go back (shoulder, undercut, rolled rim).
    """

    points: tuple[CurvePoint, ...]
    spans: Floats

    @staticmethod
    def through(points: Sequence[CurvePoint]) -> Curve:
        """Draw the curve through `points`, bottom to top; CraftError for fewer than two of them."""
        kept = _without_doubles(points)
        if len(kept) < 2:
            raise CraftError("A curve needs at least two different points.")
        runs = _runs(kept)
        return Curve(tuple(kept), np.concatenate([_run_spans(run) for run in runs]))

    @cached_property
    def powers(self) -> Floats:
        """Coefficients (n, 4, 2) of 1, t, t², t³ for each span."""
        p0, p1, p2, p3 = (self.spans[:, i] for i in range(4))
        return np.stack([p0, 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - 3 * p2 + 3 * p1 - p0], 1)

    @cached_property
    def boxes(self) -> tuple[Floats, Floats]:
        """Least and greatest (r, z) of each span, (n, 2) both: its ends, for it is monotone."""
        first, last = self.spans[:, 0], self.spans[:, 3]
        return np.minimum(first, last), np.maximum(first, last)

    @cached_property
    def straight(self) -> NDArray[np.bool_]:
        """Which spans are straight."""
        chord = self.spans[:, 3] - self.spans[:, 0]
        handles = self.spans[:, 1:3] - self.spans[:, :1]
        off = handles[..., 0] * chord[:, None, 1] - handles[..., 1] * chord[:, None, 0]
        length = np.hypot(chord[:, 0], chord[:, 1])
        result: NDArray[np.bool_] = np.abs(off).max(axis=1) <= 1e-9 * length
        return result

    @cached_property
    def cuts_made(self) -> dict[bytes, CurveCuts]:
        """The last cuts by level planes, kept by `cut_curve`."""
        return {}

    def at(self, span: NDArray[np.intp], t: Floats) -> Floats:
        """Points (…, 2) on the spans with these indices at these parameters 0 to 1."""
        p, u = self.spans[span], np.asarray(t)[..., None]
        v = 1 - u
        # Bernstein's form is exact at both ends.
        outer = v**3 * p[..., 0, :] + u**3 * p[..., 3, :]
        result: Floats = outer + 3 * u * v * (v * p[..., 1, :] + u * p[..., 2, :])
        # Rounding must not carry a point out of the box that the span is promised to stay in.
        low, high = self.boxes
        return np.minimum(np.maximum(result, low[span]), high[span])

    def radius_at(self, t: Floats) -> Floats:
        """Radii (n, m) at a row of parameters for each span, as `at` gives them."""
        p0, p1, p2, p3 = (self.spans[:, i, 0, None] for i in range(4))
        v = 1 - t
        radius: Floats = v**3 * p0 + t**3 * p3 + 3 * t * v * (v * p1 + t * p2)
        low, high = (box[:, :1] for box in self.boxes)
        return np.minimum(np.maximum(radius, low), high)

    def polyline(self, per_span: int = 64) -> Floats:
        """Points (m, 2) along the curve: straight spans by their ends, others in equal steps."""
        return self._points(np.where(self.straight, 1, per_span))

    def _points(self, steps: NDArray[np.intp]) -> Floats:
        span = np.repeat(np.arange(len(self.spans)), steps)
        first = np.repeat(np.cumsum(steps) - steps, steps)
        t = (np.arange(len(span)) - first) / steps[span]
        return np.concatenate([self.at(span, t), self.spans[-1:, 3]])

    @cached_property
    def _polylines(self) -> dict[float, Floats]:
        return {}

    def polyline_within(self, sagitta_mm: float) -> Floats:
        """Points (m, 2) along the curve, so close that no chord is off by over `sagitta_mm`."""
        if sagitta_mm not in self._polylines:
            line = self._polyline_within(sagitta_mm)
            line.flags.writeable = False
            self._polylines[sagitta_mm] = line
        return self._polylines[sagitta_mm]

    def _polyline_within(self, sagitta_mm: float) -> Floats:
        bend = np.abs(np.diff(self.spans, n=2, axis=1)).max(axis=1)
        # A cubic's second derivative is at most 6 times its second differences.
        steps = np.ceil(np.sqrt(6 * np.hypot(bend[:, 0], bend[:, 1]) / 8 / sagitta_mm))
        return self._points(np.maximum(steps, 1).astype(np.intp))

    @cached_property
    def is_simple(self) -> bool:
        """Whether the curve nowhere crosses, touches or doubles back on itself."""
        line = shapely.LineString(self.polyline(16))
        return bool(line.is_simple) and not line.is_closed

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least radius, least height, greatest radius, greatest height."""
        ends = self.spans[:, (0, 3)].reshape(-1, 2)
        (r0, z0), (r1, z1) = ends.min(axis=0), ends.max(axis=0)
        return float(r0), float(z0), float(r1), float(z1)

    def radius_extremes(self, z0: float, z1: float) -> tuple[float, float] | None:
        """Least and greatest radius of the part with z0 ≤ z ≤ z1, level parts on the faces too.

        None where the curve does not reach the slab. Spans are monotone, so that the extremes lie
        where a span enters or leaves the slab.
        """
        low, high = self.spans[:, (0, 3), 1].min(axis=1), self.spans[:, (0, 3), 1].max(axis=1)
        touched = (low <= z1 + PLANE_MM) & (high >= z0 - PLANE_MM)
        if not touched.any():
            return None
        cuts = cut_curve(self, [z0, z1])
        level = cuts.level[touched, None]
        ends = np.where(level, self.spans[touched][:, (0, 3), 0], cuts.radius[touched])
        return float(ends.min()), float(ends.max())

    def radii_at(self, z: float) -> tuple[float, ...]:
        """Every radius at which the curve meets the height z, ascending; a shoulder's ends."""
        found: list[float] = []
        passed: list[int] = []
        for span, ((r0, z0), (r1, z1)) in enumerate(self.spans[:, (0, 3)].tolist()):
            if not min(z0, z1) - PLANE_MM <= z <= max(z0, z1) + PLANE_MM:
                continue
            if abs(z1 - z0) <= 2 * PLANE_MM:
                found += [r0, r1]
            elif abs(z0 - z) <= PLANE_MM:
                found.append(r0)
            elif abs(z1 - z) <= PLANE_MM:
                found.append(r1)
            else:
                passed.append(span)
        if passed:
            found += cut_curve(self, [z]).radius[passed, 0].tolist()
        radii: list[float] = []
        for r in sorted(found):
            if not radii or r - radii[-1] > SAME_POINT_MM:
                radii.append(r)
        return tuple(radii)


def _without_doubles(points: Sequence[CurvePoint]) -> list[CurvePoint]:
    """The points without repeats; a repeat is a corner if either of the two was."""
    kept: list[CurvePoint] = []
    for point in points:
        if (
            kept
            and np.hypot(point.r_mm - kept[-1].r_mm, point.z_mm - kept[-1].z_mm) < SAME_POINT_MM
        ):
            last = kept[-1]
            kept[-1] = CurvePoint(last.r_mm, last.z_mm, last.corner or point.corner)
        else:
            kept.append(point)
    return kept


def _runs(points: Sequence[CurvePoint]) -> list[Floats]:
    """Split at the corners; each run is (k, 2) and is drawn smoothly by itself."""
    runs: list[Floats] = []
    start = 0
    for i in range(1, len(points)):
        if points[i].corner or i == len(points) - 1:
            runs.append(np.array([(p.r_mm, p.z_mm) for p in points[start : i + 1]], dtype=float))
            start = i
    return runs


def _run_spans(run: Floats) -> Floats:
    """Bézier spans (k − 1, 4, 2) through the points of one run."""
    if len(run) == 2:
        third = (run[1] - run[0]) / 3
        return np.array([[run[0], run[0] + third, run[1] - third, run[1]]])
    step = np.hypot(*np.diff(run, axis=0).T)
    at = np.concatenate([[0.0], np.cumsum(step)])
    slopes = np.stack([monotone_slopes(at, run[:, i]) for i in (0, 1)], axis=1)
    a, b = run[:-1], run[1:]
    reach = step[:, None] / 3
    low, high = np.minimum(a, b), np.maximum(a, b)
    first = np.clip(a + slopes[:-1] * reach, low, high)
    second = np.clip(b - slopes[1:] * reach, low, high)
    return np.stack([a, first, second, b], axis=1)
