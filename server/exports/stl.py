"""The finished form as binary STL: mm, z up, one closed body with its triangles looking outward."""

import numpy as np

from server.craft.planned import Planned
from server.exports.model.finish import finished_body

_HEADER = b"Ringwright: finished form, millimetres, z up"
_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def piece_stl(planned: Planned) -> bytes:
    """The file. GeometryError where nothing of the piece can be made."""
    body = finished_body(planned)
    corners = body.vertices[body.triangles]
    product = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(product, axis=1, keepdims=True)
    table = np.zeros(len(corners), _TRIANGLE)
    table["corners"] = corners
    table["normal"] = product / np.maximum(length, 1e-300)
    # The header must not begin with “solid”, or readers take the file for text.
    return _HEADER.ljust(80, b"\0") + np.uint32(len(corners)).tobytes() + table.tobytes()
