"""Every part of the assembled piece as meshes: one body a ring, divided by wood. mm, z up."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from server.craft.errors import GeometryError
from server.craft.form.outline import half_section, ring_sections
from server.craft.planned import Planned
from server.craft.rings.mesh import PLUG, SPACER, Copies, ring_pieces
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing

FINE_MM = 0.05
"""Chords of the outline stray by no more; finer cannot be seen."""

STEP_DEG = 5.0

MOST_TRIANGLES = 3_000_000
"""More than this no viewer shows any more, and the server would run out of memory."""


@dataclass(frozen=True, eq=False, slots=True)
class WoodMesh:
    """All that one body has of one wood: pieces, each with the places where it stands again."""

    wood: str
    pieces: tuple[Copies, ...]


@dataclass(frozen=True, eq=False, slots=True)
class BodyMesh:
    """A ring, or a part turned from one solid, by wood in the order in which they come."""

    id: str
    woods: tuple[WoodMesh, ...]

    @property
    def triangle_count(self) -> int:
        """All its triangles, every copy counted."""
        return sum(
            len(piece.mesh.triangles) * len(piece.angles)
            for mesh in self.woods
            for piece in mesh.pieces
        )


@dataclass(frozen=True, eq=False, slots=True)
class PartMesh:
    """A part where it stands in the assembled piece."""

    id: str
    title: str
    bodies: tuple[BodyMesh, ...]


def piece_meshes(planned: Planned) -> tuple[PartMesh, ...]:
    """Every part with everything of it that can be made.

    GeometryError `nothing-to-show` where there is no wood at all, `too-many-segments` where there
    is more than can be shown.
    """
    work = planned.work
    parts, triangles = [], 0
    for part in work.parts:
        bodies = []
        for body in _bodies(part, work.offsets_mm[part.id]):
            triangles += body.triangle_count
            refuse_too_many(triangles)
            bodies += [body] if body.woods else []
        parts.append(PartMesh(part.id, part.part.title, tuple(bodies)))
    if not any(part.bodies for part in parts):
        raise GeometryError("nothing-to-show", "There is no wood in this drawing yet.")
    return tuple(parts)


def _bodies(part: WorkedPart, offset_mm: float) -> Iterator[BodyMesh]:
    section = half_section(part.outside, part.inside, part.floor_mm, FINE_MM)
    if not part.rings:
        whole = ring_pieces(section, step_deg=STEP_DEG)
        yield _body(part.id, whole, [part.part.own_wood], offset_mm)
        return
    planes = [part.rings[0].z_bottom_mm, *(ring.z_top_mm for ring in part.rings)]
    for ring, slab in zip(part.rings, ring_sections(section, planes), strict=True):
        if not ring.is_made:
            continue
        plug = ring.ring.plug.diameter_mm if ring.ring.plug else 0.0
        shape = ring.flat or (ring.stave.big_end if ring.stave else None)
        pieces = ring_pieces(slab, shape, ring.ring.phase, plug_mm=plug, step_deg=STEP_DEG)
        yield _body(ring.id, pieces, _woods(part, ring), offset_mm)


def _woods(part: WorkedPart, ring: WorkedRing) -> list[str]:
    """The wood of each owner; SPACER and PLUG count from the end of the list."""
    own, drawn = part.part.own_wood, ring.ring
    woods = [*ring.woods, own, own]
    woods[SPACER] = (drawn.spacer.wood if drawn.spacer else None) or own
    woods[PLUG] = (drawn.plug.wood if drawn.plug else None) or own
    return woods


def _body(name: str, pieces: Sequence[Copies], woods: Sequence[str], up_mm: float) -> BodyMesh:
    by_wood: dict[str, list[Copies]] = {}
    for piece in pieces:
        lifted = replace(piece.mesh, vertices=piece.mesh.vertices + np.array([0.0, 0.0, up_mm]))
        names = np.array([woods[owner] for owner in piece.owners])
        for wood in dict.fromkeys(names.tolist()):
            here = names == wood
            copies = Copies(lifted, piece.angles[here], piece.owners[here])
            by_wood.setdefault(wood, []).append(copies)
    return BodyMesh(name, tuple(WoodMesh(wood, tuple(found)) for wood, found in by_wood.items()))


def refuse_too_many(triangles: int) -> None:
    """GeometryError `too-many-segments` beyond `MOST_TRIANGLES`."""
    if triangles > MOST_TRIANGLES:
        raise GeometryError(
            "too-many-segments", "This piece has more segments than one model can hold."
        )
