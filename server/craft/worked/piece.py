"""The whole piece worked through once: parts with curves and rings, and where each part stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from server.craft.document.part import Part
from server.craft.document.piece import Piece
from server.craft.document.references import curve_of
from server.craft.findings import LIMITS
from server.craft.form.curves import Curve
from server.craft.form.slabs import ring_radii
from server.craft.form.tolerance import PLANE_MM
from server.craft.form.walls import WallSpot, inside_outside_fault, least_wall
from server.craft.worked.rings import WorkedRing, work_ring


@dataclass(frozen=True)
class WorkedPart:
    """A part with its curves; `z0_mm` and `z1_mm` are where the wood begins and ends.

    `breach` is where the inside lies farthest outside of the outside, if it does.
    """

    part: Part
    outside: Curve
    inside: Curve | None
    z0_mm: float
    z1_mm: float
    rings: tuple[WorkedRing, ...]
    breach: WallSpot | None = None

    @property
    def id(self) -> str:
        """The part's own id."""
        return self.part.id

    @property
    def floor_mm(self) -> float | None:
        """The explicit floor, where one is given."""
        return self.part.own_floor_mm

    @property
    def height_mm(self) -> float:
        """The height of the profile."""
        return self.z1_mm - self.z0_mm

    def ring_at(self, z_mm: float) -> str | None:
        """The ring in whose slab a height lies."""
        for ring in self.rings:
            if ring.z_bottom_mm - 1e-9 <= z_mm <= ring.z_top_mm + 1e-9:
                return ring.id
        return None


@dataclass(frozen=True)
class WorkedPiece:
    """All parts of a piece, worked through; `offsets_mm` places them on one axis."""

    piece: Piece
    parts: tuple[WorkedPart, ...]
    offsets_mm: Mapping[str, float]

    @cached_property
    def by_part(self) -> Mapping[str, WorkedPart]:
        """The parts by id."""
        return {part.id: part for part in self.parts}

    @cached_property
    def by_ring(self) -> Mapping[str, WorkedRing]:
        """The rings of all parts by id."""
        return {ring.id: ring for part in self.parts for ring in part.rings}

    @cached_property
    def before(self) -> Mapping[str, WorkedRing | None]:
        """The ring that each stacked ring is pressed on; None for the first on its faceplate.

        A stack that is out of order counts as put in order: nothing else could be glued.
        """
        order: dict[str, WorkedRing | None] = {}
        for stack in self.piece.stacks:
            rings = sorted((self.by_ring[r] for r in stack.rings), key=lambda r: r.index)
            last: WorkedRing | None = None
            for ring in rings if stack.mounted == "bottom" else reversed(rings):
                order[ring.id] = last
                last = ring
        return order

    @property
    def bottom_mm(self) -> float:
        """The lowest point of the assembled piece."""
        return min(self.offsets_mm[part.id] + part.z0_mm for part in self.parts)

    @property
    def top_mm(self) -> float:
        """The highest point of the assembled piece."""
        return max(self.offsets_mm[part.id] + part.z1_mm for part in self.parts)

    def limit(self, code: str) -> float:
        """The limit of a check: the piece's own, or the default."""
        usual = self.piece.saw.shortest_strip_mm if code == "strip-short" else LIMITS[code]
        return self.piece.limits.get(code, usual)


def work_piece(piece: Piece) -> WorkedPiece:
    """Work every part out."""
    parts = tuple(work_part(piece, part) for part in piece.parts)
    return WorkedPiece(piece, parts, _offsets(piece, parts))


def work_part(piece: Piece, part: Part) -> WorkedPart:
    """Work one part out: curves, planes, slabs, rings."""
    outside = curve_of(part.outside)
    inside = curve_of(part.inside) if part.inside else None
    _, z0, _, z1 = outside.bounds
    planes = [z0]
    for ring in part.rings:
        planes.append(planes[-1] + ring.thickness_mm)
    slabs = ring_radii(outside, inside, part.own_floor_mm, planes) if part.rings else []
    breach = inside_outside_fault(outside, inside, part.own_floor_mm) if inside else None
    curves = (outside, inside)
    rings = []
    for index, slab in enumerate(slabs):
        between = (planes[index], planes[index + 1])
        through = _breach_mm(part, curves, between, breach)
        rings.append(work_ring(piece, part, index, curves, between, slab, through))
    return WorkedPart(part, outside, inside, z0, z1, tuple(rings), breach)


def _breach_mm(
    part: Part,
    curves: tuple[Curve, Curve | None],
    planes: tuple[float, float],
    breach: WallSpot | None,
) -> float | None:
    """The wall between two planes where the inside breaks through there; None where it does not."""
    outside, inside = curves
    if breach is None or inside is None:
        return None
    low, high = planes[0] + PLANE_MM, planes[1] - PLANE_MM
    if low <= breach.z_mm <= high:
        return breach.thickness_mm
    wall = least_wall(outside, inside, part.own_floor_mm, low, high) if low < high else None
    return wall.thickness_mm if wall is not None and wall.thickness_mm < 0 else None


def _offsets(piece: Piece, parts: tuple[WorkedPart, ...]) -> dict[str, float]:
    """Where each part's own zero stands. Joined parts are placed so that the lowest stands at 0."""
    ends = {(p.id, "bottom"): p.z0_mm for p in parts} | {(p.id, "top"): p.z1_mm for p in parts}
    offsets: dict[str, float] = {}
    for part in parts:
        if part.id in offsets:
            continue
        group = _joined(piece, part.id, ends)
        lowest = min(group, key=lambda name: group[name] + ends[name, "bottom"])
        offsets |= {name: at - group[lowest] for name, at in group.items()}
    return offsets


def _joined(piece: Piece, start: str, ends: Mapping[tuple[str, str], float]) -> dict[str, float]:
    """Every part that joints connect with the first, and where it stands against that one."""
    group = {start: 0.0}
    waiting = [start]
    sides = [(j.tenon, j.mortise) for j in piece.joints]
    while waiting:
        here = waiting.pop()
        for one, other in sides + [(mortise, tenon) for tenon, mortise in sides]:
            if one.part == here and other.part not in group:
                plane = group[here] + ends[here, one.end]
                group[other.part] = plane - ends[other.part, other.end]
                waiting.append(other.part)
    return group
