"""A piece as what can be seen of it: the contour of each part and the woods round each ring."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from server.craft.document.part import Part
from server.craft.document.ring import Ring
from server.craft.form.curves import Curve
from server.craft.form.section import floor_level
from server.craft.form.slopes import Floats
from server.craft.planned import Planned
from server.craft.wood.properties import Species
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing

TAU = 2 * math.pi
_PER_SPAN = 24
FINE_MM = 0.05
"""A contour is thinned as long as it moves less than this."""


@dataclass(frozen=True, slots=True)
class Face:
    """How a wood looks: its colour, the deeper tone of its grain and joints, its name."""

    colour: str
    grain: str
    name: str


OPEN = Face("#1a120b", "#1a120b", "open")
"""An open joint, seen into."""


@dataclass(frozen=True, slots=True)
class Sector:
    """A wood between two angles in radians, counter-clockwise from above, 0 towards the viewer.

    `index` is the segment's number, or None for spacers, gaps and what is no segment.
    """

    start: float
    end: float
    face: Face
    index: int | None = None


@dataclass(frozen=True, slots=True)
class Slice:
    """A ring, or a whole solid part, between two heights above the piece's zero."""

    ring: str | None
    bottom_mm: float
    top_mm: float
    sectors: tuple[Sector, ...]


@dataclass(frozen=True, eq=False, slots=True)
class Body:
    """One part where it stands. `contour` walks the outside up and the inside down, (n, 2) r, z.

    `turn` is the number of the contour's point where the rim begins; `closed` whether there is
    wood at the axis below.
    """

    part: str
    contour: Floats
    turn: int
    closed: bool
    slices: tuple[Slice, ...]

    @property
    def outside(self) -> Floats:
        """The outside, bottom to top."""
        return self.contour[: self.turn + 1]

    @property
    def inside(self) -> Floats:
        """The inside, top to bottom; empty for a solid."""
        return self.contour[self.turn + 1 :]

    def section(self) -> Floats:
        """The half section as one closed outline, ending at the axis where there is wood."""
        points = [self.contour]
        if self.closed:
            last, first = self.contour[-1], self.contour[0]
            points.append(np.array([[0.0, last[1]], [0.0, first[1]]]))
        return np.concatenate(points)


def bodies(planned: Planned, fine_mm: float = FINE_MM) -> tuple[Body, ...]:
    """Every part of a piece as a body, in the order of the document."""
    work = planned.work
    return tuple(
        body(part, work.offsets_mm[part.id], planned.woods, fine_mm) for part in work.parts
    )


def body(
    part: WorkedPart, offset_mm: float, woods: Mapping[str, Species], fine_mm: float = FINE_MM
) -> Body:
    """One part standing at a height, its contour true to `fine_mm`."""
    contour, turn, closed = _contour(part, fine_mm)
    contour = contour + np.array([0.0, offset_mm])
    return Body(part.id, contour, turn, closed, _slices(part, offset_mm, woods))


def face(woods: Mapping[str, Species], wood: str) -> Face:
    """How a wood looks; one that nobody knows any more is paper with an ink grain."""
    species = woods.get(wood)
    if species is None:
        return Face("#e8e0cf", "#857963", wood)
    return Face(species.colour_hex, species.grain_hex, species.name)


def _contour(part: WorkedPart, fine_mm: float) -> tuple[Floats, int, bool]:
    outside = _line(part.outside, fine_mm)
    if part.inside is None:
        # A solid: its top is level from the outside to the axis.
        contour = np.concatenate([outside, [[0.0, outside[-1, 1]]]])
        return _apart(contour, len(outside) - 1), len(outside) - 1, True
    floor = floor_level(part.outside, part.inside, part.floor_mm)
    inside = _line(part.inside, fine_mm)[::-1]
    closed = math.isfinite(floor)
    if closed:
        inside = np.stack([inside[:, 0], np.maximum(inside[:, 1], floor)], axis=1)
        if inside[-1, 0] > 1e-6:
            inside = np.concatenate([inside, [[0.0, inside[-1, 1]]]])
    return np.concatenate([outside, inside]), len(outside) - 1, closed


def _apart(contour: Floats, turn: int) -> Floats:
    """A contour that ends where it turns keeps one point more, so that its halves stay known."""
    if np.allclose(contour[turn], contour[-1]):
        return contour[: turn + 2]
    return contour


def _line(curve: Curve, fine_mm: float) -> Floats:
    line = shapely.LineString(curve.polyline(_PER_SPAN)).simplify(fine_mm)
    points: Floats = shapely.get_coordinates(line)
    return points


def _slices(part: WorkedPart, offset_mm: float, woods: Mapping[str, Species]) -> tuple[Slice, ...]:
    if not part.rings:
        whole = Sector(-math.pi, math.pi, face(woods, part.part.own_wood))
        return (Slice(None, offset_mm + part.z0_mm, offset_mm + part.z1_mm, (whole,)),)
    return tuple(
        Slice(
            ring.id,
            offset_mm + ring.z_bottom_mm,
            offset_mm + ring.z_top_mm,
            sectors(ring, part.part, woods),
        )
        for ring in part.rings
    )


def sectors(worked: WorkedRing, part: Part, woods: Mapping[str, Species]) -> tuple[Sector, ...]:
    """The woods round a finished ring, spacers and open joints in their places."""
    ring = worked.ring
    if not ring.is_segmented:
        return (Sector(-math.pi, math.pi, face(woods, worked.woods[0])),)
    radius = worked.slab.outside_mm or 1.0
    between, joint = _joint(ring, part, radius, woods)
    starts = _starts(ring)
    found: list[Sector] = []
    for k, wood in enumerate(worked.woods):
        start, end = starts[k] + between / 2, starts[k + 1] - between / 2
        if end > start:
            found.append(Sector(start, end, face(woods, wood), k))
        if between and joint is not None:
            found.append(Sector(starts[k] - between / 2, starts[k] + between / 2, joint))
    return tuple(found)


def _starts(ring: Ring) -> Floats:
    shares = np.array(ring.shares or (1.0,) * ring.segments)
    pitch = TAU / ring.segments
    turn = np.concatenate([[0.0], np.cumsum(shares / shares.sum())]) * TAU
    starts: Floats = ring.phase * pitch + turn
    return starts


def _joint(
    ring: Ring, part: Part, radius_mm: float, woods: Mapping[str, Species]
) -> tuple[float, Face | None]:
    """What lies in each joint: its angle at the outside, and how it looks."""
    if ring.spacer is not None:
        wood = ring.spacer.wood or part.own_wood
        return _angle(ring.spacer.thickness_mm, radius_mm), face(woods, wood)
    if ring.gap is not None:
        if ring.gap.angle_deg is not None:
            return math.radians(ring.gap.angle_deg), OPEN
        return _angle(ring.gap.width_mm or 0.0, radius_mm), OPEN
    return 0.0, None


def _angle(width_mm: float, radius_mm: float) -> float:
    return 2 * math.asin(min(1.0, width_mm / 2 / radius_mm))


def extent(all_bodies: Sequence[Body]) -> tuple[float, float, float]:
    """Greatest radius, lowest and highest point of the whole piece, mm."""
    points = np.concatenate([body.contour for body in all_bodies])
    return float(points[:, 0].max()), float(points[:, 1].min()), float(points[:, 1].max())
