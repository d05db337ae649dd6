"""What a flat ring is made of, as it is sawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

import numpy as np

from server.craft.form.slopes import Floats
from server.craft.records import record
from server.craft.rings.angles import Angles


@record
class SegmentShape:
    """One segment as it is sawn. Edges are long points to long points, mm; angles in degrees.

    `half_angle_deg` is half the segment's share of the turn, the saw's mitre where the joints are
    closed. `width_mm` is the board's; `bevel_deg` is 0 except for staves.
    """

    half_angle_deg: float
    mitre_deg: float
    outer_edge_mm: float
    inner_edge_mm: float
    width_mm: float
    bevel_deg: float = 0.0

    @property
    def area_mm2(self) -> float:
        """Plan area of the segment as sawn."""
        return (self.outer_edge_mm + self.inner_edge_mm) / 2 * self.width_mm


@dataclass(frozen=True)
class RingGeometry:
    """A flat ring as sawn; one shape for each segment, in order from the ring's zero.

    `board_width_mm` is the widest segment's, `corner_radius_mm` the farthest corner. `halves` are
    the half angles of the segments in degrees, in order: all that places the joints. A spacer is at
    least `spacer_length_mm` long (0 without spacers). `centre_hole_mm` is the radius of the hole
    that a plug must cover where spacers or parallel gaps keep pie tips from meeting.
    """

    outside_radius_mm: float
    inside_radius_mm: float
    board_width_mm: float
    corner_radius_mm: float
    segments: tuple[SegmentShape, ...]
    halves: Angles
    spacer_mm: float = 0.0
    spacer_length_mm: float = 0.0
    gap_angle_deg: float = 0.0
    gap_width_mm: float = 0.0
    centre_hole_mm: float = 0.0

    def __hash__(self) -> int:
        # Rings that are alike so far are told apart by comparing them, segments and all.
        return hash((self.outside_radius_mm, self.inside_radius_mm, len(self.segments)))

    @cached_property
    def halves_deg(self) -> Floats:
        """The half angles as an array."""
        return np.array(self.halves)

    @cached_property
    def starts_deg(self) -> Floats:
        """Where each segment begins at phase 0, in degrees."""
        return first_angles_deg(self.halves)

    @cached_property
    def sizes_mm(self) -> Floats:
        """Width, outer and inner edge (n, 3) of each segment, in order."""
        return _each(
            self.segments, lambda shape: (shape.width_mm, shape.outer_edge_mm, shape.inner_edge_mm)
        )

    @cached_property
    def order(self) -> int:
        """How often the pattern of segments repeats round the ring."""
        shapes = self.segments
        count = len(shapes)
        if _all_alike(shapes):
            return count
        lengths = (k for k in range(1, count + 1) if count % k == 0)
        return count // next(k for k in lengths if shapes == shapes[k:] + shapes[:k])

    @property
    def joint_shift_mm(self) -> float:
        """How far each joint face lies beside the radial plane of its joint."""
        return (self.spacer_mm + self.gap_width_mm) / 2

    @property
    def is_open(self) -> bool:
        """Whether the joints are left open."""
        return self.gap_angle_deg > 0 or self.gap_width_mm > 0


def first_angles_deg(halves: Angles) -> Floats:
    """Where each segment begins, in degrees from the first, when these are their half angles."""
    shares = 2 * np.array(halves)
    starts: Floats = np.cumsum(shares) - shares
    return starts


def _all_alike(shapes: Sequence[SegmentShape]) -> bool:
    # Counting looks for the very same object first, and so is quick.
    return shapes.count(shapes[0]) == len(shapes)


def _each(
    shapes: Sequence[SegmentShape], read: Callable[[SegmentShape], tuple[float, ...]]
) -> Floats:
    """One row of numbers a segment; equal segments are mostly one object, and read once."""
    if _all_alike(shapes):
        return np.tile(np.array(read(shapes[0])), (len(shapes), 1))
    rows = {id(shape): read(shape) for shape in shapes}
    return np.array([rows[id(shape)] for shape in shapes])


def grouped(shapes: Sequence[SegmentShape]) -> list[tuple[SegmentShape, int]]:
    """The different shapes with how many there are of each, widest share first."""
    ordered = sorted(shapes, key=lambda shape: -shape.half_angle_deg)
    return [(shape, len(list(run))) for shape, run in groupby(ordered)]
