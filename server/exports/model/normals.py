"""Normals for turned wood: smooth along a curve and round the axis, sharp at every edge."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.craft.form.slopes import Floats

SHARP_DEG = 32.0
"""Faces that meet at more than this meet at an edge."""

FLAT_MM2 = 1e-9
"""Triangles of less area cannot be seen and look nowhere; they are left out."""

_CUT_DEG = -135.0
"""Directions are told apart from here on: inward and down, where a turned form seldom looks."""

Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True)
class Shaded:
    """Vertices with one normal each; a vertex at an edge is there once for each side of it."""

    positions: Floats
    normals: Floats
    triangles: Ints


def shaded(vertices: Floats, triangles: Ints) -> Shaded:
    """Give a mesh about the z axis its normals.

    Round a vertex the faces are sorted by the direction in which they look, joint faces apart from
    turned ones; a turn of more than `SHARP_DEG` between neighbours is an edge.
    """
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    # The length of the product is twice the area: large faces count for more.
    product = np.cross(b - a, c - a)
    seen = np.linalg.norm(product, axis=1) > FLAT_MM2
    seen |= not seen.any()
    triangles, product, around = triangles[seen], product[seen], (a + b + c)[seen]
    corner = np.repeat(np.arange(len(triangles)), 3)
    vertex = triangles.ravel()
    side, look = _looks(vertices, vertex, product[corner], around[corner])
    order = np.lexsort((look, side, vertex))
    vertex, side, look = vertex[order], side[order], look[order]
    begins = np.ones(len(order), bool)
    begins[1:] = (
        (np.diff(vertex) != 0) | (np.diff(side) != 0) | (np.diff(look) > np.radians(SHARP_DEG))
    )
    first = np.flatnonzero(begins)
    normals = np.add.reduceat(product[corner[order]], first, axis=0)
    normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-300)[:, None]
    index = np.empty(len(order), int)
    index[order] = np.cumsum(begins) - 1
    return Shaded(vertices[vertex[first]], normals, index.reshape(-1, 3))


def repeated(form: Shaded, angles: Floats) -> Shaded:
    """Copies of the form, one after the other, each turned by its angle (radians)."""
    count = len(angles)
    shift = np.arange(count)[:, None] * len(form.positions)
    triangles = (form.triangles.reshape(1, -1) + shift).reshape(-1, 3)
    return Shaded(turned(form.positions, angles), turned(form.normals, angles), triangles)


def turned(vectors: Floats, angles: Floats) -> Floats:
    """Copies of the vectors, each turned about the z axis by its angle (radians)."""
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    x, y, z = vectors.T
    copies = np.empty((len(angles), len(vectors), 3))
    copies[..., 0] = x * cos - y * sin
    copies[..., 1] = x * sin + y * cos
    copies[..., 2] = z
    return copies.reshape(-1, 3)


def _looks(vertices: Floats, vertex: Ints, normal: Floats, around: Floats) -> tuple[Ints, Floats]:
    """For each corner: whether it is of a joint face (−1, 1) or not, and its angle in the section.

    On the axis a face's own middle says which way is outward.
    """
    out = vertices[vertex, :2]
    on_axis = np.hypot(out[:, 0], out[:, 1]) < 1e-6
    out = np.where(on_axis[:, None], around[:, :2], out)
    out = out / np.maximum(np.hypot(out[:, 0], out[:, 1]), 1e-300)[:, None]
    radial = (normal[:, :2] * out).sum(axis=1)
    along = normal[:, 1] * out[:, 0] - normal[:, 0] * out[:, 1]
    length = np.maximum(np.linalg.norm(normal, axis=1), 1e-300)
    side = np.where(np.abs(along) > 0.5 * length, np.sign(along), 0).astype(int)
    look = np.arctan2(normal[:, 2], radial) - np.radians(_CUT_DEG)
    return side, np.mod(look, 2 * np.pi)
