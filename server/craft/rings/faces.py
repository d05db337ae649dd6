"""Faces that meet between two rings: what is pressed when rough, what holds when finished."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from server.craft.form.slopes import Floats
from server.craft.rings.outlines import segment_polygons, spacer_polygons, start_angles_deg
from server.craft.rings.overlap import Placed, closed_overlaps_mm2
from server.craft.rings.shapes import RingGeometry

Annulus = tuple[float, float]
"""Inner and outer radius, mm."""

_CIRCLE_CORNERS = 720


@dataclass(frozen=True, slots=True, eq=False)
class _Pieces:
    """What a ring's face is made of, in rounds of one piece a joint: segments, spacers, plug.

    `corners` are (n, 4, 2); `middle_deg` and `half_deg` bound each piece's angle from the axis.
    """

    corners: Floats
    middle_deg: Floats
    half_deg: Floats


@dataclass(frozen=True, eq=False)
class RoughFace:
    """The face of a ring as glued, at its phase; with a plug in its centre, bored to its size.

    Without `ring` it is the round face of a disc or washer between the two radii in `round_mm`.
    """

    ring: RingGeometry | None
    phase: float = 0.0
    plug_radius_mm: float = 0.0
    round_mm: Annulus = (0.0, 0.0)

    @property
    def order(self) -> int:
        """How often the pattern repeats in a turn; 0 where every turn looks the same."""
        return self.ring.order if self.ring else 0

    @property
    def is_open(self) -> bool:
        """Whether joints are left open."""
        return self.ring is not None and self.ring.is_open

    @cached_property
    def area_mm2(self) -> float:
        """The whole face."""
        return float(shapely.area(self.outlines()).sum())

    def outlines(self, which: NDArray[np.intp] | None = None) -> NDArray[np.object_]:
        """Outlines of all pieces, or of some, as shapely polygons that do not overlap."""
        if self.ring is None:
            return np.array([_ring(self.round_mm)])
        corners = self._pieces.corners
        which = np.arange(len(corners)) if which is None else which
        pieces: NDArray[np.object_] = shapely.polygons(corners[which])
        if self.plug_radius_mm:
            plug = _circle(self.plug_radius_mm)
            of_plug = which >= len(corners) - len(self.ring.segments)
            pieces = np.where(
                of_plug, shapely.intersection(pieces, plug), shapely.difference(pieces, plug)
            )
        return pieces

    @cached_property
    def _pieces(self) -> _Pieces:
        ring = self.ring
        assert ring is not None
        starts, halves = start_angles_deg(ring, self.phase), ring.halves_deg
        rounds = [(segment_polygons(ring, self.phase), starts + halves, halves)]
        if ring.spacer_mm:
            near = ring.outside_radius_mm - ring.spacer_length_mm
            spread = math.degrees(math.atan2(ring.spacer_mm / 2, near))
            rounds.append((spacer_polygons(ring, self.phase), starts, np.full_like(starts, spread)))
        if self.plug_radius_mm:
            wedges = _wedges(starts, 2 * halves, 2 * self.plug_radius_mm)
            rounds.append((wedges, starts + halves, halves))
        return _Pieces(*(np.concatenate(part) for part in zip(*rounds, strict=True)))

    @property
    def _closed(self) -> Placed | None:
        """The ring at its phase where there is nothing but its segments, closed."""
        ring = self.ring
        if ring is None or ring.spacer_mm or ring.is_open or self.plug_radius_mm:
            return None
        return ring, self.phase


def ring_face(ring: RingGeometry, phase: float = 0.0, plug_mm: float = 0.0) -> RoughFace:
    """The face of a flat ring at its phase; `plug_mm` is the diameter of a plug in its centre."""
    return RoughFace(ring, phase, plug_mm / 2)


def disc_face(radius_mm: float, inside_radius_mm: float = 0.0) -> RoughFace:
    """The face of a round disc, or of a washer with a round hole."""
    return RoughFace(None, round_mm=(inside_radius_mm, radius_mm))


def rough_overlaps_mm2(pairs: Sequence[tuple[RoughFace, RoughFace]]) -> list[float]:
    """Area pressed between the two rough faces of each pair; the many closed rings together."""
    placed = [(lower._closed, upper._closed) for lower, upper in pairs]
    closed = iter(closed_overlaps_mm2((one, other) for one, other in placed if one and other))
    return [
        next(closed) if one and other else _common_mm2(*pair)
        for pair, (one, other) in zip(pairs, placed, strict=True)
    ]


def _common_mm2(lower: RoughFace, upper: RoughFace) -> float:
    order, common = _common(lower, upper)
    return order * float(shapely.area(common).sum())


def finished_face_mm2(
    annuli: Sequence[Annulus], lower: RoughFace | None = None, upper: RoughFace | None = None
) -> float:
    """Area that holds two finished rings together: the `annuli` common to both at their plane.

    Where a ring has open joints, give both faces: only wood that lies on wood holds.
    """
    if lower is None or upper is None or not (lower.is_open or upper.is_open):
        return math.pi * math.fsum(big**2 - small**2 for small, big in annuli)
    order, common = _common(lower, upper)
    held = [shapely.area(shapely.intersection(common, _ring(annulus))) for annulus in annuli]
    return order * math.fsum(float(areas.sum()) for areas in held)


def _common(lower: RoughFace, upper: RoughFace) -> tuple[int, NDArray[np.object_]]:
    """What two faces share in one period of both patterns, in pieces, and how often it repeats."""
    if lower.ring is None:
        lower, upper = upper, lower
    if lower.ring is None:
        return 1, shapely.intersection(lower.outlines(), upper.outlines())
    order = math.gcd(lower.order, upper.order)
    mine = lower._pieces
    count = len(lower.ring.segments)
    one = np.arange(len(mine.middle_deg))
    one = one[one % count < count // order]
    if upper.ring is None:
        return order, shapely.intersection(lower.outlines(one), upper.outlines())
    other = upper._pieces
    apart = mine.middle_deg[one, None] - other.middle_deg
    apart = np.abs(np.mod(apart + 180.0, 360.0) - 180.0)
    i, j = np.nonzero(apart < mine.half_deg[one, None] + other.half_deg - 1e-9)
    return order, shapely.intersection(lower.outlines(one[i]), upper.outlines(j))


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
