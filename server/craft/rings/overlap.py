"""The area that two closed rough rings share, exactly, and without a polygon.

Seen from the axis, a rough ring reaches from one straight edge to another: at the angle φ the edge
of a segment whose middle is at c and whose distance is p lies at p/cos(φ − c). Between two angles
such an edge encloses p²/2·[tan(φ − c)] with the axis. So the overlap is the area within the nearer
outer edge less that within the farther inner one, summed between the joints and crossings of both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise

from server.craft.rings.shapes import RingGeometry

Edge = tuple[float, float]
"""Distance from the axis (mm) and the direction of its middle (radians)."""

_Stretch = tuple[float, Edge, Edge]
"""The angle to which a segment reaches, its outer and its inner edge."""


@lru_cache(maxsize=4096)
def closed_overlap_mm2(
    lower: RingGeometry, lower_phase: float, upper: RingGeometry, upper_phase: float
) -> float:
    """Area shared by two rings with closed joints, without spacers and plugs, at their phases."""
    order = math.gcd(lower.order, upper.order)
    period = 2 * math.pi / order
    start = lower_phase * 2 * math.pi / len(lower.segments)
    ours = _stretches(lower, lower_phase, start)
    theirs = _stretches(upper, upper_phase, start)
    # Holes end at the inside radius, with their corners; outer edges begin at the outside radius.
    least = min(lower.outside_radius_mm, upper.outside_radius_mm)
    apart = least >= max(lower.inside_radius_mm, upper.inside_radius_mm)
    total, here, end = 0.0, start, start + period
    (our_end, our_edge, our_hole), (their_end, their_edge, their_hole) = next(ours), next(theirs)
    while here < end - 1e-12:
        there = min(our_end, their_end, end)
        total += _shared(here, there, (our_edge, their_edge), (our_hole, their_hole), apart)
        here = there
        if our_end <= here:
            our_end, our_edge, our_hole = next(ours)
        if their_end <= here:
            their_end, their_edge, their_hole = next(theirs)
    return order * total


def _stretches(ring: RingGeometry, phase: float, start: float) -> Iterator[_Stretch]:
    """The segments round and round, counter-clockwise, from the one that holds the angle start."""
    count, shapes = len(ring.segments), ring.segments
    here = phase * 2 * math.pi / count
    here -= 2 * math.pi * math.ceil((here - start) / (2 * math.pi))
    k = 0
    while True:
        shape = shapes[k % count]
        half = math.radians(shape.half_angle_deg)
        middle, here = here + half, here + 2 * half
        k += 1
        if here > start:
            near = ring.outside_radius_mm - shape.width_mm
            yield here, (ring.outside_radius_mm, middle), (near, middle)


def _shared(
    first: float,
    last: float,
    outer: tuple[Edge, Edge],
    inner: tuple[Edge, Edge],
    apart: bool,
) -> float:
    """Area between the nearer outer and the farther inner edge, from one angle to another.

    `apart` says that no outer edge can meet an inner one.
    """
    angles = [first, last]
    meeting = [outer, inner]
    if not apart:
        meeting += [(outer[0], inner[1]), (outer[1], inner[0])]
    for pair in meeting:
        angle = _crossing(*pair, (first + last) / 2)
        if angle is not None and first < angle < last:
            angles.append(angle)
    angles.sort()
    total = 0.0
    for a, b in pairwise(angles):
        middle = (a + b) / 2
        edge = min(outer, key=lambda e: e[0] / math.cos(middle - e[1]))
        hole = max(inner, key=lambda e: e[0] / math.cos(middle - e[1]))
        total += max(0.0, _sector(edge, a, b) - _sector(hole, a, b))
    return total


def _sector(edge: Edge, first: float, last: float) -> float:
    far, middle = edge
    return far**2 / 2 * (math.tan(last - middle) - math.tan(first - middle))


def _crossing(one: Edge, other: Edge, near: float) -> float | None:
    """The angle within a right angle of `near` at which two edges are equally far."""
    (p, c), (q, d) = (one[0], one[1] - near), (other[0], other[1] - near)
    across = p * math.sin(d) - q * math.sin(c)
    along = q * math.cos(c) - p * math.cos(d)
    if across == 0:
        return None
    return near + math.atan(along / across)
