"""Closed triangle meshes of finished rings: each segment its wedge of the turned form.

A piece is its half section swept about the axis from one joint face to the next. Faces of spacers
and parallel gaps lie beside the radial plane, so that the sweep begins and ends at an angle that
depends on the radius. Joints of staves are upright planes through the axis: their pieces are the
same wedges.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from server.craft.form.outline import polygons
from server.craft.form.slopes import Floats
from server.craft.rings.outlines import start_angles_deg
from server.craft.rings.shapes import RingGeometry

Ints = NDArray[np.int64]

STEP_DEG = 2.5
"""Greatest turn between neighbouring sections; chords of 2.5° lose 0.03 % of the volume."""

AXIS_MM = 1e-6
"""Nearer than this to the axis a point is on it."""

SPACER = -1
PLUG = -2


@dataclass(frozen=True, slots=True, eq=False)
class RingMesh:
    """Vertices (n, 3) in mm, z up; triangles (m, 3), seen counter-clockwise from outside.

    `owner` (m,) is the number of the segment that a triangle belongs to, SPACER or PLUG. Each piece
    is closed by itself; neighbours share no vertices.
    """

    vertices: Floats
    triangles: Ints
    owner: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Copies:
    """One piece of a ring at 0° and where it stands again: angles in radians, an owner each."""

    mesh: RingMesh
    angles: Floats
    owners: Ints


@dataclass(frozen=True, slots=True, eq=False)
class _Profile:
    """A section's outline points (n, 2) as (r, z), its edges and the triangles of its face."""

    points: Floats
    edges: Ints
    face: Ints


def ring_mesh(
    section: shapely.Geometry,
    ring: RingGeometry | None = None,
    phase: float = 0.0,
    *,
    plug_mm: float = 0.0,
    step_deg: float = STEP_DEG,
) -> RingMesh:
    """The finished ring whose half section (from `ring_sections`) this is; without `ring` a disc.

    The plug of this diameter is a piece of its own. Pieces without wood are left out.
    """
    pieces = ring_pieces(section, ring, phase, plug_mm=plug_mm, step_deg=step_deg)
    return _joined([_turned(piece.mesh, piece.angles, piece.owners) for piece in pieces])


def ring_pieces(
    section: shapely.Geometry,
    ring: RingGeometry | None = None,
    phase: float = 0.0,
    *,
    plug_mm: float = 0.0,
    step_deg: float = STEP_DEG,
) -> list[Copies]:
    """The same ring as its different pieces, each with the angles at which it is repeated."""
    if ring is None:
        return _once(_round(section, 0, step_deg))
    parts = []
    if plug_mm:
        core = shapely.box(0.0, -1e6, plug_mm / 2, 1e6)
        parts += _once(_round(shapely.intersection(section, core), PLUG, step_deg))
        section = shapely.difference(section, core)
    parts += _segments(section, ring, phase, step_deg)
    if ring.spacer_mm:
        parts += _spacers(section, ring, phase)
    return parts


def _once(mesh: RingMesh) -> list[Copies]:
    return [Copies(mesh, np.zeros(1), mesh.owner[:1])] if len(mesh.triangles) else []


def _segments(
    section: shapely.Geometry, ring: RingGeometry, phase: float, step_deg: float
) -> list[Copies]:
    """All segments; those of one share are one sweep, turned to their places."""
    starts = start_angles_deg(ring, phase)
    halves = ring.halves_deg
    gap, shift = math.radians(ring.gap_angle_deg) / 2, ring.joint_shift_mm
    parts = []
    for half in np.unique(halves):
        which = np.flatnonzero(halves == half)
        wide = math.radians(half)
        tip = shift / math.sin(wide) if shift else 0.0
        profile = _profile(_beyond(section, tip))
        if profile is None:
            continue
        inset = gap + _beside(profile.points[:, 0], shift)
        first, last = inset, np.maximum(2 * wide - inset, inset)
        steps = max(1, math.ceil(2 * half / step_deg - 1e-9))
        mesh = _sweep(profile, first, last, steps)
        parts.append(Copies(mesh, np.radians(starts[which]), which))
    return parts


def _spacers(section: shapely.Geometry, ring: RingGeometry, phase: float) -> list[Copies]:
    """The strips in the joints, cut back to where neighbouring strips meet."""
    half = math.radians(float(ring.halves_deg.min()))
    profile = _profile(_beyond(section, ring.joint_shift_mm / math.sin(half)))
    starts = start_angles_deg(ring, phase)
    if profile is None:
        return []
    spread = _beside(profile.points[:, 0], ring.joint_shift_mm)
    mesh = _sweep(profile, -spread, spread, 1)
    return [Copies(mesh, np.radians(starts), np.full(len(starts), SPACER))]


def _round(section: shapely.Geometry, owner: int, step_deg: float) -> RingMesh:
    """A whole turn of the section."""
    profile = _profile(section)
    if profile is None:
        return _joined([])
    steps = max(3, math.ceil(360.0 / step_deg))
    turn = np.zeros(len(profile.points))
    mesh = _sweep(profile, turn, turn + 2 * math.pi, steps, closed=True)
    return RingMesh(mesh.vertices, mesh.triangles, np.full(len(mesh.triangles), owner))


def _profile(section: shapely.Geometry) -> _Profile | None:
    """Outline and face triangles of the section; None where there is no wood."""
    parts = polygons(section)
    if not parts:
        return None
    points: list[Floats] = []
    edges: list[Ints] = []
    faces: list[Ints] = []
    offset = 0
    for part in parts:
        polygon = shapely.orient_polygons(shapely.remove_repeated_points(part, 1e-7))
        for loop in (polygon.exterior, *polygon.interiors):
            corners = shapely.get_coordinates(loop)[:-1]
            number = np.arange(len(corners)) + offset
            points.append(corners)
            edges.append(np.stack([number, np.roll(number, -1)], axis=1))
            offset += len(corners)
        faces.append(_face(polygon, np.concatenate(points)))
    return _Profile(np.concatenate(points), np.concatenate(edges), np.concatenate(faces))


def _face(polygon: shapely.Polygon, points: Floats) -> Ints:
    """The polygon's triangles between its own corners, counter-clockwise, as point numbers."""
    number = {tuple(point): i for i, point in enumerate(points.tolist())}
    pieces = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    corners = shapely.get_coordinates(shapely.orient_polygons(pieces)).reshape(-1, 4, 2)[:, :3]
    return np.array([[number[tuple(c)] for c in piece] for piece in corners.tolist()], dtype=int)


def _sweep(
    profile: _Profile, first: Floats, last: Floats, steps: int, *, closed: bool = False
) -> RingMesh:
    """Sweep the profile from angle `first` to `last` (radians, one for each point)."""
    count = len(profile.points)
    rows = steps if closed else steps + 1
    share = np.arange(rows)[:, None] / steps
    angle = first + share * (last - first)
    r, z = profile.points.T
    vertices = np.stack([r * np.cos(angle), r * np.sin(angle), np.broadcast_to(z, angle.shape)], -1)
    row = np.arange(steps)[:, None] * count
    after = (np.arange(steps)[:, None] + 1) % rows * count
    a, b = profile.edges.T
    side = np.concatenate(
        [
            np.stack([row + a, after + a, after + b], axis=-1).reshape(-1, 3),
            np.stack([row + a, after + b, row + b], axis=-1).reshape(-1, 3),
        ]
    )
    caps = [] if closed else [profile.face, profile.face[:, ::-1] + (rows - 1) * count]
    triangles = np.concatenate([side, *caps])
    # On the axis, and where the faces of a pie meet in its tip, all sections share one point.
    home = np.tile(np.arange(count), rows)
    still = (r <= AXIS_MM) | (r * (last - first) <= AXIS_MM)
    merged = np.where(np.tile(still, rows), home, np.arange(rows * count))
    triangles = merged[triangles]
    p, q, s = triangles.T
    whole = (p != q) & (q != s) & (s != p)
    return RingMesh(vertices.reshape(-1, 3), triangles[whole], np.zeros(int(whole.sum()), int))


def _turned(mesh: RingMesh, angles: Floats, owners: Ints) -> RingMesh:
    """Copies of one piece, each turned by its angle (radians) about the axis."""
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    x, y, z = mesh.vertices.T
    copies = np.stack(
        [x * cos - y * sin, x * sin + y * cos, np.broadcast_to(z, (len(cos), len(z)))], -1
    )
    shift = np.arange(len(angles))[:, None, None] * len(mesh.vertices)
    triangles = (mesh.triangles[None] + shift).reshape(-1, 3)
    return RingMesh(copies.reshape(-1, 3), triangles, np.repeat(owners, len(mesh.triangles)))


def _joined(parts: list[RingMesh]) -> RingMesh:
    """Several meshes as one, without vertices that no triangle uses."""
    vertices, triangles, owner = [np.empty((0, 3))], [np.empty((0, 3), int)], [np.empty(0, int)]
    offset = 0
    for part in parts:
        vertices.append(part.vertices)
        triangles.append(part.triangles + offset)
        owner.append(part.owner)
        offset += len(part.vertices)
    return RingMesh(np.concatenate(vertices), np.concatenate(triangles), np.concatenate(owner))


def _beyond(section: shapely.Geometry, radius_mm: float) -> shapely.Geometry:
    """The part of the section at least this far from the axis."""
    if radius_mm == 0:
        return section
    return shapely.intersection(section, shapely.box(radius_mm, -1e6, 1e6, 1e6))


def _beside(radii: Floats, shift_mm: float) -> Floats:
    """Angle at each radius of a plane that lies `shift_mm` beside the radial one."""
    if shift_mm == 0:
        return np.zeros_like(radii)
    return np.arcsin(np.minimum(1.0, shift_mm / np.maximum(radii, shift_mm)))
