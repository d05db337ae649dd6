"""Closed bodies of triangles: going round the axis, and putting several together."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from server.craft.form.slopes import Floats

Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True)
class Body:
    """Vertices (n, 3) in mm; triangles (m, 3), counter-clockwise seen from outside."""

    vertices: Floats
    triangles: Ints

    @property
    def is_closed(self) -> bool:
        """Whether every edge joins two triangles, once each way."""
        a = self.triangles.ravel()
        b = self.triangles[:, [1, 2, 0]].ravel()
        size = len(self.vertices)
        there, back = np.sort(a * size + b), np.sort(b * size + a)
        return bool(len(there)) and bool((np.diff(there) > 0).all() and (there == back).all())

    @property
    def volume_mm3(self) -> float:
        """What it holds; positive where its triangles look outward."""
        a, b, c = (self.vertices[self.triangles[:, i]] for i in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def revolve(outlines: Iterable[shapely.Polygon], steps: int) -> Body:
    """Half sections (r, z) turned once about the axis in this many steps."""
    angle = np.arange(steps) * 2 * np.pi / steps
    vertices, triangles, offset = [np.empty((0, 3))], [np.empty((0, 3), int)], 0
    for outline in outlines:
        polygon = shapely.orient_polygons(outline)
        for loop in (polygon.exterior, *polygon.interiors):
            r, z = shapely.get_coordinates(loop)[:-1].T
            x, y = np.outer(np.cos(angle), r), np.outer(np.sin(angle), r)
            vertices.append(np.stack([x, y, np.broadcast_to(z, x.shape)], -1).reshape(-1, 3))
            triangles.append(_sides(r, steps) + offset)
            offset += steps * len(r)
    return merged(np.concatenate(vertices), np.concatenate(triangles))


def _sides(r: Floats, steps: int) -> Ints:
    """Two triangles for each edge of the loop and each step; points on the axis are one."""
    count = len(r)
    row = np.arange(steps)[:, None] * count
    after = (np.arange(steps)[:, None] + 1) % steps * count
    a = np.arange(count)
    b = (a + 1) % count
    flat = np.concatenate(
        [
            np.stack([row + a, after + a, after + b], -1).reshape(-1, 3),
            np.stack([row + a, after + b, row + b], -1).reshape(-1, 3),
        ]
    )
    on_axis = np.tile(r == 0, steps)
    home = np.where(on_axis, np.tile(a, steps), np.arange(steps * count))
    result: Ints = home[flat]
    return result


def merged(vertices: Floats, triangles: Ints) -> Body:
    """The body as its vertices are told apart in 32-bit numbers, without collapsed triangles."""
    short = vertices.astype(np.float32)
    short += np.float32(0)  # −0 and 0 are one place
    used, inverse = np.unique(short.view([("", "<f4")] * 3).ravel(), return_inverse=True)
    index = inverse.ravel()[triangles]
    a, b, c = index.T
    whole = (a != b) & (b != c) & (c != a)
    return _compact(used.view("<f4").reshape(-1, 3).astype(float), index[whole])


def _compact(vertices: Floats, triangles: Ints) -> Body:
    used, triangles = np.unique(triangles, return_inverse=True)
    return Body(vertices[used], triangles.reshape(-1, 3))


def together(bodies: Iterable[Body]) -> Body:
    """Several bodies as one."""
    vertices, triangles, offset = [np.empty((0, 3))], [np.empty((0, 3), int)], 0
    for body in bodies:
        vertices.append(body.vertices)
        triangles.append(body.triangles + offset)
        offset += len(body.vertices)
    return Body(np.concatenate(vertices), np.concatenate(triangles))
