"""The area that closed rough rings share two by two, exactly, and without a polygon.

Seen from the axis, a rough ring reaches from one straight edge to another: at the angle φ the edge
of a segment whose middle is at c and whose distance is p lies at p/cos(φ − c). Between two angles
such an edge encloses p²/2·[tan(φ − c)] with the axis. So the overlap is the area within the nearer
outer edge less that within the farther inner one, summed between the joints and crossings of both.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import lru_cache

import numpy as np

from server.craft.form.slopes import Floats
from server.craft.rings.shapes import RingGeometry

Placed = tuple[RingGeometry, float]
"""A ring at its phase."""

_Segment = tuple[float, float, float]
"""Direction of a segment's middle (radians), distances of its outer and inner edge (mm)."""

_Stretch = tuple[float, float, *_Segment, *_Segment]
"""From one angle to another, one segment of either ring."""


def closed_overlaps_mm2(pairs: Iterable[tuple[Placed, Placed]]) -> tuple[float, ...]:
    """Area shared by the two rings of each pair: closed joints, without spacers and plugs."""
    return _closed_overlaps_mm2(tuple(pairs))


# Where only woods are changed, the next plan asks for the same.
@lru_cache(maxsize=64)
def _closed_overlaps_mm2(pairs: tuple[tuple[Placed, Placed], ...]) -> tuple[float, ...]:
    stretches: list[_Stretch] = []
    ends, orders = [], []
    for lower, upper in pairs:
        orders.append(math.gcd(lower[0].order, upper[0].order))
        stretches += _stretches(lower, upper, orders[-1])
        ends.append(len(stretches))
    if not stretches:
        return ()
    of_pair = np.repeat(np.arange(len(pairs)), np.diff(ends, prepend=0))
    shared = np.bincount(of_pair, _shared(np.array(stretches).T), len(pairs))
    return tuple((np.array(orders) * shared).tolist())


def _stretches(lower: Placed, upper: Placed, order: int) -> Iterator[_Stretch]:
    """One period of both rings' pattern, from joint to joint of either, counter-clockwise."""
    start = _first_joint(lower)
    ours, theirs = _segments(lower, start), _segments(upper, start)
    here, end = start, start + 2 * math.pi / order
    (our_end, our), (their_end, their) = next(ours), next(theirs)
    while here < end - 1e-12:
        there = min(our_end, their_end, end)
        yield (here, there, *our, *their)
        here = there
        if our_end <= here:
            our_end, our = next(ours)
        if their_end <= here:
            their_end, their = next(theirs)


def _first_joint(placed: Placed) -> float:
    ring, phase = placed
    return phase * 2 * math.pi / len(ring.segments)


def _segments(placed: Placed, start: float) -> Iterator[tuple[float, _Segment]]:
    """The segments round and round from the one that holds the angle start, each with its end."""
    ring, _ = placed
    shapes, far = ring.segments, ring.outside_radius_mm
    here, period = _first_joint(placed), 2 * math.pi / ring.order
    here -= period * math.ceil((here - start) / period)
    while True:
        for shape in shapes:
            half = math.radians(shape.half_angle_deg)
            middle, here = here + half, here + 2 * half
            if here > start:
                yield here, (middle, far, far - shape.width_mm)


def _shared(stretches: Floats) -> Floats:
    """Area between the nearer outer and the farther inner edge of each stretch.

    `stretches` (8, n): its two angles, then middle, outer and inner edge of a segment of either.
    """
    first, last = stretches[:2]
    segments = stretches[2:].reshape(2, 3, -1)
    middle, edges = segments[:, 0], segments[:, 1:]
    near = (first + last) / 2
    met = near + _crossings(edges, middle - near)
    angles = np.empty((len(met) + 2, len(first)))
    angles[0], angles[1:-1], angles[-1] = first, np.minimum(np.maximum(met, first), last), last
    angles.sort(axis=0)
    off = angles - middle[:, None]
    far = edges[:, :, None] / np.cos((off[:, :-1] + off[:, 1:]) / 2)[:, None]
    reach = np.tan(off)
    enclosed = edges[:, :, None] ** 2 / 2 * (reach[:, 1:] - reach[:, :-1])[:, None]
    least = np.where(far[0, 0] <= far[1, 0], enclosed[0, 0], enclosed[1, 0])
    most = np.where(far[0, 1] >= far[1, 1], enclosed[0, 1], enclosed[1, 1])
    area: Floats = np.maximum(least - most, 0.0).sum(axis=0)
    return area


def _crossings(edges: Floats, middle: Floats) -> Floats:
    """The angles (4, n) within a right angle of 0 at which an edge of one meets one of the other.

    `edges` (2, 2, n) are the two of either segment, `middle` (2, n) their directions. 0 for edges
    that never meet, where a cut changes nothing.
    """
    one, other = edges[0, (0, 0, 1, 1)], edges[1, (0, 1, 0, 1)]
    sin, cos = np.sin(middle), np.cos(middle)
    across = one * sin[1] - other * sin[0]
    along = other * cos[0] - one * cos[1]
    met: Floats = np.arctan(np.divide(along, across, out=np.zeros_like(along), where=across != 0))
    return met
