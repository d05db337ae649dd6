"""The piece as a short description from which a browser builds it in three dimensions.

Lengths in mm to a hundredth, angles in radians to a ten-thousandth, woods by number: a piece of
200 rings of 72 segments stays under 50 kB.
"""

from typing import Any

import shapely

from server.craft.document.part import Part
from server.craft.document.ring import Ring
from server.craft.rings.patterns import shortest
from server.exports.pictures.bodies import OPEN, Body, Face, Slice, face
from server.exports.pictures.section import slice_polygons
from server.rooms.drawing_board.board import Board

_THIN_MM = 0.12
_HUNDREDTH, _TEN_THOUSANDTH = 2, 4


def look(board: Board) -> dict[str, Any]:
    """Parts with their rings: section outlines, division, woods."""
    woods = _Woods()
    parts = [_part(board, body, woods) for body in board.bodies]
    return {"woods": woods.listed, "parts": parts}


class _Woods:
    """Numbers the woods as they come."""

    def __init__(self) -> None:
        self.listed: list[dict[str, str]] = []
        self._numbers: dict[Face, int] = {}

    def number(self, wood: Face) -> int:
        if wood not in self._numbers:
            self._numbers[wood] = len(self.listed)
            self.listed.append({"colour": wood.colour, "grain": wood.grain, "name": wood.name})
        return self._numbers[wood]


def _part(board: Board, body: Body, woods: _Woods) -> dict[str, Any]:
    part = board.piece.part(body.part)
    whole = shapely.make_valid(shapely.Polygon(body.section()))
    rings = [_ring(board, part, ring, whole, woods) for ring in body.slices]
    return {"id": part.id, "name": part.title, "kind": part.kind, "rings": rings}


def _ring(
    board: Board, part: Part, shown: Slice, whole: shapely.Geometry, woods: _Woods
) -> dict[str, Any]:
    described: dict[str, Any] = {
        "outlines": [_outline(polygon) for polygon in slice_polygons(whole, shown)]
    }
    if shown.ring is None:
        return described | {"n": 1, "woods": [woods.number(shown.sectors[0].face)]}
    worked = board.planned.work.by_ring[shown.ring]
    ring = worked.ring
    if not ring.is_segmented:
        return described | {"n": 1, "woods": [woods.number(shown.sectors[0].face)]}
    pattern = shortest([str(woods.number(face(board.planned.woods, w))) for w in worked.woods])
    described |= {"n": ring.segments, "woods": [int(number) for number in pattern]}
    if ring.phase:
        described["phase"] = ring.phase
    if ring.shares:
        described["shares"] = list(ring.shares)
    return described | _joint(board, part, ring, shown, woods)


def _joint(board: Board, part: Part, ring: Ring, shown: Slice, woods: _Woods) -> dict[str, Any]:
    between = [s for s in shown.sectors if s.index is None]
    if not between:
        return {}
    angle = round(between[0].end - between[0].start, _TEN_THOUSANDTH)
    if between[0].face == OPEN:
        return {"gap": angle}
    wood = (ring.spacer.wood if ring.spacer else None) or part.own_wood
    return {"gap": angle, "spacer": woods.number(face(board.planned.woods, wood))}


def _outline(polygon: shapely.Polygon) -> list[float]:
    """r, z, r, z … of a section's edge, counter-clockwise, without its holes."""
    edge = shapely.orient_polygons(polygon).exterior.simplify(_THIN_MM)
    return [round(float(v), _HUNDREDTH) for point in edge.coords[:-1] for v in point]
