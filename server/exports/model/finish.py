"""The finished form of the assembled piece as closed bodies of triangles. mm, z up.

The half sections of all parts and rings, joined, go once round the axis. Rings with open joints
are left out of that: each of their segments is a closed body of its own, which reaches into its
neighbours by `BITE_MM`, so that a printer's program takes the whole for one and no edge is shared.
What joints between parts hide (the air at the end of a tenon) is not shown.
"""

import math
from collections.abc import Iterator

import numpy as np
import shapely

from server.craft.errors import GeometryError
from server.craft.form.outline import half_section, polygons, ring_sections
from server.craft.planned import Planned
from server.craft.rings.mesh import PLUG, Copies, ring_pieces
from server.craft.rings.shapes import RingGeometry
from server.craft.worked.divided import open_centre_mm
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing
from server.exports.model.closed import Body, merged, revolve, together
from server.exports.model.normals import turned
from server.exports.model.pieces import refuse_too_many

SAGITTA_MM = 0.005
"""How far chords stray from the outline before it is thinned by as much again."""

ROUND_MM = 0.01
"""How far chords stray from the circle round the axis."""

GRID_MM = 1e-3
"""Corners lie on this grid, so that none of them meet when they are written as short numbers."""

FEWEST_STEPS, MOST_STEPS = 144, 720

BITE_MM = 0.002

_APART_MM = 0.004
"""What is taken where two outlines would touch in a single point."""

_CORE_MM = 0.01
"""Open wedges that reach the axis would meet in a line there: this much is bored away."""


def finished_body(planned: Planned) -> Body:
    """The body.

    GeometryError `nothing-to-show` where nothing of the piece can be made, `too-many-segments`
    where open rings have more of them than can be shown.
    """
    slabs = [slab for part in planned.work.parts for slab in _slabs(planned, part)]
    steps = _steps(max((_reach(section) for section, *_ in slabs), default=0.0))
    closed = shapely.union_all([section for section, ring, _ in slabs if not _is_open(ring)])
    bodies = [revolve(polygons(_tidy(closed)), steps)]
    for section, ring, part in slabs:
        if ring is not None and _is_open(ring):
            bodies += _segments(section, ring, part, steps)
            refuse_too_many(sum(len(body.triangles) for body in bodies))
    whole = together(bodies)
    if not len(whole.triangles):
        raise GeometryError("nothing-to-show", "There is no wood in this drawing yet.")
    return whole


def _slabs(
    planned: Planned, part: WorkedPart
) -> Iterator[tuple[shapely.Geometry, WorkedRing | None, WorkedPart]]:
    """The half section of each ring that can be made, or of the whole part, in its place."""
    section = half_section(part.outside, part.inside, part.floor_mm, SAGITTA_MM)
    up = planned.work.offsets_mm[part.id]
    if not part.rings:
        yield _raised(section, up), None, part
        return
    planes = [part.rings[0].z_bottom_mm, *(ring.z_top_mm for ring in part.rings)]
    for ring, slab in zip(part.rings, ring_sections(section, planes), strict=True):
        if ring.is_made:
            hole = _centre_hole(ring)
            kept = shapely.difference(slab, hole) if hole is not None else slab
            yield _raised(kept, up), ring, part


def _raised(section: shapely.Geometry, up_mm: float) -> shapely.Geometry:
    lift = np.array([0.0, up_mm])
    return shapely.transform(section, lambda points: points + lift)


def _reach(section: shapely.Geometry) -> float:
    return 0.0 if section.is_empty else float(section.bounds[2])


def _shape(ring: WorkedRing) -> RingGeometry | None:
    return ring.flat or (ring.stave.big_end if ring.stave else None)


def _is_open(ring: WorkedRing | None) -> bool:
    shape = _shape(ring) if ring is not None else None
    return shape is not None and shape.is_open


def _centre_hole(ring: WorkedRing) -> shapely.Geometry | None:
    """What spacers leave open about the axis where pie tips would meet, but for the plug in it.

    With unequal shares it is no circle: the round one as large stands for it.
    """
    shape = _shape(ring)
    if shape is None or ring.ring.spacer is None or shape.centre_hole_mm <= 0:
        return None
    across = ring.ring.plug.diameter_mm if ring.ring.plug else 0.0
    hole, inner = open_centre_mm(shape, across), across / 2 or -1.0
    return shapely.box(inner, -1e6, hole, 1e6) if hole > inner else None


def _tidy(section: shapely.Geometry) -> shapely.Geometry:
    """The section thinned, on its grid, and without points in which two outlines touch."""
    section = shapely.set_precision(shapely.simplify(section, SAGITTA_MM), GRID_MM)
    corners = [
        shapely.get_coordinates(loop)[:-1]
        for part in polygons(section)
        for loop in (part.exterior, *part.interiors)
    ]
    if not corners:
        return section
    points, count = np.unique(np.concatenate(corners), axis=0, return_counts=True)
    for r, z in points[(count > 1) & (points[:, 0] > 0)]:
        box = shapely.box(r - _APART_MM, z - _APART_MM, r + _APART_MM, z + _APART_MM)
        section = shapely.difference(section, box)
    return section


def _steps(reach_mm: float) -> int:
    """Steps round the axis, a multiple of four so that the greatest width is met both ways."""
    step = 2 * math.acos(max(0.0, 1 - ROUND_MM / max(reach_mm, ROUND_MM)))
    wanted = math.ceil(2 * math.pi / max(step, 1e-3))
    return 4 * math.ceil(min(MOST_STEPS, max(FEWEST_STEPS, wanted)) / 4)


def _segments(
    section: shapely.Geometry, ring: WorkedRing, part: WorkedPart, steps: int
) -> Iterator[Body]:
    """Every segment and the plug of an open ring, each a little larger where it meets wood."""
    shape = _shape(ring)
    plug = ring.ring.plug.diameter_mm if ring.ring.plug else 0.0
    section = shapely.set_precision(shapely.simplify(section, SAGITTA_MM), GRID_MM)
    core = shapely.box(-1.0, -1e6, _CORE_MM, 1e6)
    apart = section if plug else shapely.difference(section, core)
    for piece in ring_pieces(
        _bitten(apart, ring, part), shape, ring.ring.phase, plug_mm=plug, step_deg=360.0 / steps
    ):
        yield _body(piece)


def _body(piece: Copies) -> Body:
    vertices, count = piece.mesh.vertices, len(piece.angles)
    if piece.owners[0] == PLUG:
        wider = 1 + BITE_MM / float(np.hypot(vertices[:, 0], vertices[:, 1]).max())
        vertices = vertices * (wider, wider, 1.0)
    shift = np.arange(count)[:, None, None] * len(vertices)
    triangles = (piece.mesh.triangles[None] + shift).reshape(-1, 3)
    return merged(turned(vertices, piece.angles), triangles)


def _bitten(section: shapely.Geometry, ring: WorkedRing, part: WorkedPart) -> shapely.Geometry:
    """The section stretched upright by `BITE_MM` at each face where another ring lies on it."""
    if section.is_empty:
        return section
    below = BITE_MM if ring.index else 0.0
    above = BITE_MM if ring.index < len(part.rings) - 1 else 0.0
    low, high = float(section.bounds[1]), float(section.bounds[3])
    factor = (high - low + below + above) / (high - low)
    scale, shift = np.array([1.0, factor]), np.array([0.0, low - below - low * factor])
    return shapely.transform(section, lambda points: points * scale + shift)
