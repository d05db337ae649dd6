"""The area that closed rough rings share two by two, exactly, and without a polygon.

Seen from the axis, a rough ring reaches from one straight edge to another: at the angle φ the edge
of a segment whose middle is at c and whose distance is p lies at p/cos(φ − c). Between two angles
such an edge encloses p²/2·[tan(φ − c)] with the axis. So the overlap is the area within the nearer
outer edge less that within the farther inner one, summed between the joints and crossings of both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from server.craft.form.slopes import Floats
from server.craft.rings.shapes import RingGeometry

Placed = tuple[RingGeometry, float]
"""A ring at its phase."""

_Segment = tuple[float, float, float]
"""Direction of a segment's middle (radians), distances of its outer and inner edge (mm)."""

_Stretch = tuple[float, float, *_Segment, *_Segment]
"""From one angle to another, one segment of either ring."""


def closed_overlaps_mm2(pairs: Sequence[tuple[Placed, Placed]]) -> list[float]:
    """Area shared by the two rings of each pair: closed joints, without spacers and plugs."""
    stretches: list[_Stretch] = []
    ends, orders = [], []
    for lower, upper in pairs:
        orders.append(math.gcd(lower[0].order, upper[0].order))
        stretches += _stretches(lower, upper, orders[-1])
        ends.append(len(stretches))
    if not stretches:
        return []
    of_pair = np.repeat(np.arange(len(pairs)), np.diff(ends, prepend=0))
    shared = np.bincount(of_pair, _shared(np.array(stretches).T), len(pairs))
    overlaps: list[float] = (np.array(orders) * shared).tolist()
    return overlaps


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
    """Area between the nearer outer and the farther inner edge of each stretch; `stretches` (8, n)
    has the two angles, then middle, outer and inner edge of one segment and of the other."""
    first, last, *segments = stretches
    middle = np.stack([segments[0], segments[3]])
    outer, inner = (np.stack([segments[k], segments[k + 3]]) for k in (1, 2))
    near = (first + last) / 2
    one, other = middle - near
    meeting = [
        _crossing(p, one, q, other) for p in (outer[0], inner[0]) for q in (outer[1], inner[1])
    ]
    angles = np.sort(np.stack([first, *np.clip(near + meeting, first, last), last]), axis=0)
    between = (angles[:-1] + angles[1:]) / 2
    lean = 1 / np.cos(between - middle[:, None])
    reach = np.diff(np.tan(angles - middle[:, None]), axis=1)
    enclosed_by = outer[:, None] ** 2 / 2 * reach, inner[:, None] ** 2 / 2 * reach
    least = np.where(outer[0] * lean[0] <= outer[1] * lean[1], *enclosed_by[0])
    most = np.where(inner[0] * lean[0] >= inner[1] * lean[1], *enclosed_by[1])
    area: Floats = np.maximum(least - most, 0.0).sum(axis=0)
    return area


def _crossing(p: Floats, c: Floats, q: Floats, d: Floats) -> Floats:
    """The angle within a right angle of 0 at which edges at the distances p and q are equally far.

    0 for edges that never meet, where a cut changes nothing.
    """
    across = p * np.sin(d) - q * np.sin(c)
    along = q * np.cos(c) - p * np.cos(d)
    met = across != 0
    return np.arctan(np.divide(along, across, out=np.zeros_like(along), where=met))
