"""Faces that meet between two rings: what is pressed when rough, what holds when finished."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from server.craft.form.slopes import Floats
from server.craft.rings.outlines import segment_polygons, spacer_polygons, start_angles_deg
from server.craft.rings.shapes import RingGeometry

Annulus = tuple[float, float]
"""Inner and outer radius, mm."""

_CIRCLE_CORNERS = 720


@dataclass(frozen=True, slots=True, eq=False)
class RoughFace:
    """The face of a ring as glued, in pieces that do not overlap.

    `corners` (n, 4, 2) are the pieces as sawn; what they have within `plug_mm` of the axis is
    bored away, and a plug fills it. The pattern repeats `order` times round the ring (0: it looks
    the same however it is turned); pieces come in rounds of `per_turn`. `middle_deg` and `half_deg`
    bound each piece's angle as seen from the axis. `is_open` marks joints left open. `round_mm` are
    the radii of a round face, which has no pieces.
    """

    corners: Floats
    middle_deg: Floats
    half_deg: Floats
    order: int
    per_turn: int
    plug_mm: float = 0.0
    is_open: bool = False
    round_mm: Annulus | None = None

    @property
    def area_mm2(self) -> float:
        """The whole face."""
        return float(shapely.area(self.pieces(np.arange(len(self.middle_deg)))).sum())

    def pieces(self, which: NDArray[np.intp]) -> NDArray[np.object_]:
        """The outlines of these pieces, as shapely polygons."""
        if self.round_mm is not None:
            return np.array([_ring(self.round_mm)])[which]
        pieces: NDArray[np.object_] = shapely.polygons(self.corners[which])
        if self.plug_mm:
            plug = _circle(self.plug_mm)
            wedge = which >= len(self.corners) - self.per_turn
            pieces = np.where(
                wedge, shapely.intersection(pieces, plug), shapely.difference(pieces, plug)
            )
        return pieces


def ring_face(ring: RingGeometry, phase: float = 0.0, plug_mm: float = 0.0) -> RoughFace:
    """The face of a flat ring at its phase; `plug_mm` is the diameter of a plug in its centre."""
    starts = start_angles_deg(ring, phase)
    halves = np.array([shape.half_angle_deg for shape in ring.segments])
    rounds = [(segment_polygons(ring, phase), starts + halves, halves)]
    if ring.spacer_mm:
        near = ring.outside_radius_mm - ring.spacer_length_mm
        spread = math.degrees(math.atan2(ring.spacer_mm / 2, near))
        rounds.append((spacer_polygons(ring, phase), starts, np.full(len(starts), spread)))
    if plug_mm:
        rounds.append((_wedges(starts, 2 * halves, plug_mm), starts + halves, halves))
    corners, middle, half = (np.concatenate(part) for part in zip(*rounds, strict=True))
    return RoughFace(
        corners, middle, half, _order(ring), len(starts), plug_mm / 2, is_open=ring.is_open
    )


def disc_face(radius_mm: float, inside_radius_mm: float = 0.0) -> RoughFace:
    """The face of a round disc, or of a washer with a round hole."""
    return RoughFace(
        np.empty((0, 4, 2)),
        np.zeros(1),
        np.full(1, 180.0),
        0,
        1,
        round_mm=(inside_radius_mm, radius_mm),
    )


def rough_overlap_mm2(lower: RoughFace, upper: RoughFace) -> float:
    """Area pressed between two rough faces."""
    order, first, second = _meeting(lower, upper)
    return order * float(shapely.area(shapely.intersection(first, second)).sum())


def finished_face_mm2(
    annuli: Sequence[Annulus], lower: RoughFace | None = None, upper: RoughFace | None = None
) -> float:
    """Area that holds two finished rings together: the `annuli` common to both at their plane.

    Where a ring has open joints, give both faces: only wood that lies on wood holds.
    """
    if lower is None or upper is None or not (lower.is_open or upper.is_open):
        return math.pi * math.fsum(big**2 - small**2 for small, big in annuli)
    order, first, second = _meeting(lower, upper)
    common = shapely.intersection(first, second)
    rings = [shapely.difference(_circle(big), _circle(small)) for small, big in annuli]
    return order * math.fsum(
        float(shapely.area(shapely.intersection(common, r)).sum()) for r in rings
    )


def _meeting(
    lower: RoughFace, upper: RoughFace
) -> tuple[int, NDArray[np.object_], NDArray[np.object_]]:
    """Pairs of pieces that may overlap in one period of both patterns, and how often it repeats."""
    if lower.order == 0:
        lower, upper = upper, lower
    order = math.gcd(lower.order, upper.order) or 1
    one = np.arange(len(lower.middle_deg))
    one = one[one % lower.per_turn < lower.per_turn // order]
    apart = lower.middle_deg[one, None] - upper.middle_deg
    apart = np.abs(np.mod(apart + 180.0, 360.0) - 180.0)
    i, j = np.nonzero(apart < lower.half_deg[one, None] + upper.half_deg - 1e-9)
    return order, lower.pieces(one[i]), upper.pieces(j)


def _order(ring: RingGeometry) -> int:
    """How often the pattern of segments repeats round the ring."""
    shapes = ring.segments
    count = len(shapes)
    period = next(
        k for k in range(1, count + 1) if count % k == 0 and shapes == shapes[k:] + shapes[:k]
    )
    return count // period


def _wedges(starts_deg: Floats, angles_deg: Floats, reach_mm: float) -> Floats:
    """Kites (n, 4, 2) from the axis that cut a turn into these angles, out beyond `reach_mm`."""
    first, last = np.radians(starts_deg), np.radians(starts_deg + angles_deg)
    far = reach_mm / np.cos(np.radians(angles_deg) / 2)
    corners = np.zeros((len(first), 4, 2))
    for i, angle in ((1, first), (2, (first + last) / 2), (3, last)):
        corners[:, i] = np.stack([far * np.cos(angle), far * np.sin(angle)], axis=1)
    return corners


def _ring(annulus: Annulus) -> shapely.Polygon:
    small, big = annulus
    return shapely.difference(_circle(big), _circle(small)) if small else _circle(big)


@lru_cache(maxsize=256)
def _circle(radius_mm: float) -> shapely.Polygon:
    """A polygon of many corners with the circle's area."""
    step = 2 * math.pi / _CIRCLE_CORNERS
    fit = math.sqrt(step / math.sin(step))
    angle = np.arange(_CIRCLE_CORNERS) * step
    return shapely.Polygon(fit * radius_mm * np.stack([np.cos(angle), np.sin(angle)], axis=1))
