"""The form pulled about by hand: what the page's editor is given, and what it sends back."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from server.craft.errors import CraftError
from server.exports.pictures.bodies import Slice
from server.rooms.drawing_board.board import Board
from server.rooms.drawing_board.edits import Document, part_of
from server.web.fields import Fields

UNDERLAY = "underlay"


def editor_data(board: Board, part: Mapping[str, Any], address: str) -> str:
    """The part's points, its rings as coloured strips and the photo under it, as JSON."""
    body = next(body for body in board.bodies if body.part == part["id"])
    offset = board.planned.work.offsets_mm[part["id"]]
    return json.dumps(
        {
            "part": part["id"],
            "units": board.units,
            "outside": _written(part["outside"]),
            "inside": _written(part["inside"]) if part.get("inside") else None,
            "rings": [_strip(ring, offset) for ring in body.slices],
            "underlay": _underlay(part, address),
        }
    )


def _written(curve: Mapping[str, Any]) -> list[list[Any]]:
    return [[p["r_mm"], p["z_mm"], p.get("corner", False)] for p in curve["points"]]


def _strip(ring: Slice, offset_mm: float) -> dict[str, Any]:
    wood = ring.sectors[0].face
    return {
        "bottom": ring.bottom_mm - offset_mm,
        "top": ring.top_mm - offset_mm,
        "colour": wood.colour,
        "grain": wood.grain,
    }


def _underlay(part: Mapping[str, Any], address: str) -> dict[str, Any] | None:
    kept = (part.get("extra") or {}).get(UNDERLAY)
    if not isinstance(kept, dict):
        return None
    try:
        per_px = float(kept["mm_per_px"])
        return {
            "href": f"{address}/underlay/{part['id']}/{kept['sha256'][:12]}",
            "x": float(kept["x_mm"]),
            "z": float(kept["z_mm"]),
            "width": float(kept["width_px"]) * per_px,
            "height": float(kept["height_px"]) * per_px,
        }
    except (KeyError, TypeError, ValueError):
        return None


def set_shape(document: Document, part_id: str, fields: Fields) -> None:
    """Write the editor's points into the document. Raises CraftError for what is no shape."""
    part = part_of(document, part_id)
    try:
        sent = json.loads(fields.typed.get("shape", ""))
        curves = {name: sent[name] for name in ("outside", "inside") if sent.get(name)}
    except (ValueError, KeyError, AttributeError, TypeError, RecursionError):
        raise CraftError("The form that was sent cannot be read.") from None
    for name, points in curves.items():
        if part.get(name):
            part[name] = {**part[name], "points": _points(points, part[name]["points"])}


def _points(sent: Sequence[Any], before: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    try:
        points = [(float(r), float(z), bool(c)) for r, z, c in sent]
    except (TypeError, ValueError):
        raise CraftError("The form that was sent cannot be read.") from None
    extras = before if len(before) == len(points) else [{}] * len(points)
    return [_point(*point, old) for point, old in zip(points, extras, strict=True)]


def _point(r: float, z: float, corner: bool, before: Mapping[str, Any]) -> dict[str, Any]:
    """A point keeps its exact old numbers where the editor's rounding says the same."""
    kept: dict[str, Any] = {key: before[key] for key in ("extra",) if key in before}
    for key, value in (("r_mm", r), ("z_mm", z)):
        old = before.get(key)
        kept[key] = old if old is not None and abs(old - value) <= 5e-4 else value
    return kept | ({"corner": True} if corner else {})


def lay_under(
    document: Document, part_id: str, photo: Mapping[str, Any], size_px: tuple[int, int]
) -> None:
    """Put a photo under a part, as wide as the part to begin with, its foot on the table."""
    part = part_of(document, part_id)
    widest = max(point["r_mm"] for point in part["outside"]["points"]) or 50.0
    width, height = size_px
    per_px = 2 * widest / width
    part["extra"] = {
        **(part.get("extra") or {}),
        UNDERLAY: {
            **photo,
            "width_px": width,
            "height_px": height,
            "mm_per_px": per_px,
            "x_mm": -widest,
            "z_mm": 0.0,
        },
    }


def scale_underlay(document: Document, part_id: str, fields: Fields) -> None:
    """Two points that were tapped on the photo are this far apart in the flesh.

    The photo grows or shrinks about the first of them, which is moved to where it is said to be
    when `to_axis` is ticked: on the axis, at the height of the part's foot.
    """
    kept = _kept_underlay(document, part_id)
    ax, az, bx, bz = (fields.number(name, low=-1e5, high=1e5) for name in ("ax", "az", "bx", "bz"))
    length = fields.length("length")
    if ax is None or az is None or bx is None or bz is None or length is None:
        return
    apart = ((ax - bx) ** 2 + (az - bz) ** 2) ** 0.5
    if apart < 1e-3:
        raise CraftError("Tap two different points on the photo.")
    factor = length / apart
    kept["mm_per_px"] *= factor
    kept["x_mm"] = ax + (kept["x_mm"] - ax) * factor
    kept["z_mm"] = az + (kept["z_mm"] - az) * factor
    if fields.flag("to_axis"):
        kept["x_mm"] -= ax
        kept["z_mm"] -= az


def move_underlay(document: Document, part_id: str, fields: Fields) -> None:
    """Push the photo sideways and up."""
    kept = _kept_underlay(document, part_id)
    across = fields.length("move_x", low=-3000, required=False)
    up = fields.length("move_z", low=-3000, required=False)
    kept["x_mm"] += across or 0.0
    kept["z_mm"] += up or 0.0


def take_underlay_away(document: Document, part_id: str) -> None:
    """No photo under the part any more; the picture itself stays kept."""
    part = part_of(document, part_id)
    _kept_underlay(document, part_id)
    del part["extra"][UNDERLAY]
    if not part["extra"]:
        del part["extra"]


def _kept_underlay(document: Document, part_id: str) -> dict[str, Any]:
    kept = (part_of(document, part_id).get("extra") or {}).get(UNDERLAY)
    if not isinstance(kept, dict):
        raise CraftError("There is no photo under this part.")
    return kept
