"""The profile of the assembled piece as lines in mm: what the SVG and the DXF of it both draw.

r goes right from the axis, z up. Curves stay the Bézier spans that they are.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from server.craft.document.ring_labels import ring_labels
from server.craft.form.curves import Curve
from server.craft.form.slopes import Floats
from server.craft.planned import Planned
from server.craft.worked.joints import WorkedJoint
from server.exports.words import one_line


class Layer(StrEnum):
    """What a line is."""

    OUTSIDE = "OUTSIDE"
    INSIDE = "INSIDE"
    FLOOR = "FLOOR"
    RINGS = "RINGS"
    JOINTS = "JOINTS"
    AXIS = "AXIS"
    NAMES = "NAMES"


@dataclass(frozen=True, eq=False, slots=True)
class Line:
    """A chain of cubic spans (n, 4, 2), those `straight` (n,) of them being chords."""

    layer: Layer
    spans: Floats
    straight: NDArray[np.bool_]
    closed: bool = False

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least r and z, greatest r and z."""
        ends = self.spans[:, (0, 3)].reshape(-1, 2)
        (r0, z0), (r1, z1) = ends.min(axis=0), ends.max(axis=0)
        return float(r0), float(z0), float(r1), float(z1)


@dataclass(frozen=True, slots=True)
class Name:
    """Words at a place, for people."""

    words: str
    r_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True)
class PartLines:
    """Everything drawn of one part."""

    id: str
    title: str
    lines: tuple[Line, ...]
    names: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class ProfileSheet:
    """The profile of a piece, and the axis as the last of its lines."""

    name: str
    parts: tuple[PartLines, ...]
    axis: Line

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least r and z, greatest r and z of everything."""
        every = [line.bounds for part in self.parts for line in part.lines]
        lows, highs = np.array(every)[:, :2].min(axis=0), np.array(every)[:, 2:].max(axis=0)
        return 0.0, float(lows[1]), float(highs[0]), float(highs[1])


def profile_sheet(planned: Planned) -> ProfileSheet:
    """The lines of a piece."""
    work = planned.work
    parts = tuple(_part(planned, part.id) for part in work.parts)
    axis = _polyline(Layer.AXIS, [(0.0, work.bottom_mm), (0.0, work.top_mm)])
    return ProfileSheet(one_line(planned.piece.name), parts, axis)


def _part(planned: Planned, part_id: str) -> PartLines:
    part, up = planned.work.by_part[part_id], planned.work.offsets_mm[part_id]
    lines = [_curve(Layer.OUTSIDE, part.outside, up)]
    if part.inside is not None:
        lines.append(_curve(Layer.INSIDE, part.inside, up))
        if part.floor_mm is not None:
            edge = max(part.inside.radii_at(part.floor_mm), default=part.outside.bounds[2])
            level = part.floor_mm + up
            lines.append(_polyline(Layer.FLOOR, [(0.0, level), (edge, level)]))
    names, numbers = [], ring_labels(planned.piece)
    for ring in part.rings:
        low, high = ring.z_bottom_mm + up, ring.z_top_mm + up
        if ring.is_made and ring.outside_mm is not None:
            lines.append(_box(Layer.RINGS, ring.inside_mm, ring.outside_mm, low, high))
            names.append(Name(numbers[ring.id], ring.outside_mm, (low + high) / 2))
    lines += _joints(planned.joints, part_id, up)
    return PartLines(part.id, one_line(part.part.title), tuple(lines), tuple(names))


def _joints(joints: tuple[WorkedJoint, ...], part_id: str, up: float) -> Iterator[Line]:
    """The mortise of this part and the tenon in it, to the right of the axis."""
    for worked in joints:
        joint, part = worked.joint, worked.part
        if part.id != part_id:
            continue
        top = joint.mortise.end == "top"
        end, sense = (part.z1_mm, -1.0) if top else (part.z0_mm, 1.0)
        for radius, deep in (
            (joint.mortise_diameter_mm / 2, joint.mortise_depth_mm),
            (joint.diameter_mm / 2, joint.depth_mm),
        ):
            yield _box(Layer.JOINTS, 0.0, radius, end + up, end + up + sense * deep)


def _curve(layer: Layer, curve: Curve, up: float) -> Line:
    return Line(layer, curve.spans + np.array([0.0, up]), curve.straight)


def _box(layer: Layer, r0: float, r1: float, z0: float, z1: float) -> Line:
    corners = [(r0, z0), (r1, z0), (r1, z1), (r0, z1), (r0, z0)]
    return _polyline(layer, corners, closed=True)


def _polyline(layer: Layer, points: list[tuple[float, float]], *, closed: bool = False) -> Line:
    a, b = np.array(points[:-1]), np.array(points[1:])
    spans = np.stack([a, (2 * a + b) / 3, (a + 2 * b) / 3, b], axis=1)
    return Line(layer, spans, np.ones(len(spans), bool), closed)
