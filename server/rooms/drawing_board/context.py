"""The context of the drawing board's page and of its desk."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from starlette.requests import Request

from server.craft.document import DocumentError
from server.craft.document.part import Part
from server.craft.document.ring_labels import ring_labels
from server.exports.pictures.wash import wash_defs, wash_names
from server.rooms.drawing_board import piece_forms, ring_form
from server.rooms.drawing_board.board import Board, open_kept, open_revision
from server.rooms.drawing_board.compare import compare, lumber_by_wood
from server.rooms.drawing_board.desk import Place
from server.rooms.drawing_board.edits import is_by_hand
from server.rooms.drawing_board.limits import limit_rows
from server.rooms.drawing_board.paint import FILL_NAMES
from server.rooms.drawing_board.propose import thickest_ring_mm
from server.rooms.drawing_board.several import MOST_WOODS
from server.rooms.drawing_board.shape import UNDERLAY, editor_data
from server.rooms.drawing_board.views import (
    WIDE,
    board_view,
    ring_alone,
    ring_to_paint,
    wall_to_paint,
)
from server.rooms.drawing_board.woods import at_hand, offer
from server.store import pieces
from server.store.pieces import PieceRecord
from server.web.fields import Fields
from server.web.frame import frame
from server.web.kept import kept
from server.web.lengths import ruled_down
from server.web.orders import glues_of
from server.web.state import store_of

SHOWN_REVISIONS = 60
MOST_PICTURE_WOODS = 12


@dataclass(frozen=True, slots=True)
class Said:
    """What the last tap led to: fields that were wrong, words that belong to no field."""

    fields: Fields | None = None
    words: tuple[str, ...] = ()
    saved: bool = False


@dataclass(frozen=True, slots=True)
class RevisionRow:
    """One drawing in the list of them."""

    number: int
    saved: str
    device: str


def desk_context(
    request: Request, record: PieceRecord, place: Place, said: Said, address: str
) -> dict[str, Any]:
    """Everything that the templates ask for."""
    context: dict[str, Any] = {
        "frame": _frame(request, record),
        "record": record,
        "place": place,
        "wide_panels": WIDE,
        "address": address,
        "said": said,
        "form": said.fields,
        "base": place.base or record.revision,
        "revisions": _revisions(request, record) if place.show == "drawings" else (),
    }
    try:
        board = open_kept(record)
    except DocumentError as wrong:
        return context | {"board": None, "faults": wrong.faults}
    context["board"] = board_view(board, place, address)
    return context | _panel(request, board, record, place, address)


def _frame(request: Request, record: PieceRecord) -> Any:
    return frame(request, place="drawing-board", piece=record)


def _panel(
    request: Request, board: Board, record: PieceRecord, place: Place, address: str
) -> dict[str, Any]:
    """What the open panel's form needs beyond the board."""
    document = record.document
    if place.show == "ring":
        return _ring_panel(board, document, place) | {"offer": offer(document, at_hand(request))}
    if place.show == "rings":
        return _several_panel(document, place) | {"offer": offer(document, at_hand(request))}
    if place.show == "form":
        ids = [part["id"] for part in document["parts"]]
        chosen = place.part if place.part in ids else ids[-1]
        part = next(part for part in document["parts"] if part["id"] == chosen)
        return {
            "part": part,
            "part_names": _names(board),
            "curves": piece_forms.CURVES,
            "editor_data": editor_data(board, part, address),
            "has_underlay": bool((part.get("extra") or {}).get(UNDERLAY)),
        }
    if place.show in ("pattern", "propose"):
        return _rings_panel(request, board, record, place)
    if place.show == "look":
        return _look_panel(board)
    if place.show == "drawings" and place.against is not None:
        return _comparison(request, board, record, place.against)
    if place.show == "shop":
        return {"limits": limit_rows(board.piece)}
    if place.show == "parts":
        return {
            "offer": offer(document, at_hand(request)),
            "part_names": _names(board),
            "part_kinds": piece_forms.PART_KINDS,
            "glues": [(glue.id, glue.name) for glue in glues_of(board.piece).values()],
        }
    return {}


def _rings_panel(
    request: Request, board: Board, record: PieceRecord, place: Place
) -> dict[str, Any]:
    """What painting and proposing work on: one part of rings."""
    ringed = [part for part in board.piece.parts if part.kind == "ringed"]
    if not ringed:
        return {"of_part": None}
    most = max(ringed, key=lambda part: len(part.rings))
    part = next((p for p in ringed if p.id == place.part), most)
    labels = ring_labels(board.piece)
    used = dict.fromkeys(w for p in ringed for r in p.rings for w in (r.woods or (p.own_wood,)))
    hand = at_hand(request)
    offered = offer(record.document, hand)
    in_stock = {name: one for name, one in hand.stock.items() if name in offered.colours}
    lying = [name for name in hand.lying if name in offered.colours]
    main = in_stock.get(next(iter(used), ""))
    return {
        "offer": offered,
        "of_part": part,
        "part_names": [(p.id, p.title) for p in ringed],
        "ring_labels": labels,
        "used_woods": list(used),
        "ring_options": [(ring.id, labels[ring.id]) for ring in reversed(part.rings)],
        "picture_woods": list(dict.fromkeys([*used, *lying]))[:MOST_PICTURE_WOODS],
        "lumber": list(lumber_by_wood(board.plan).items()),
        "stock": list(in_stock.values()),
        "fills": FILL_NAMES,
        "thickest": ruled_down(thickest_ring_mm(record.document, main), board.piece.display_units),
        "wall_picture": wall_to_paint(board, part.id) if part.rings else "",
    } | (_from_above(board, part, place) if part.rings and place.show == "pattern" else {})


def _from_above(board: Board, part: Part, place: Place) -> dict[str, Any]:
    """The ring that is painted from above, and its neighbours; the uppermost to begin with."""
    names = [ring.id for ring in part.rings]
    at = names.index(place.ring) if place.ring in names else len(names) - 1
    return {
        "above_ring": names[at],
        "above_picture": ring_to_paint(board, names[at]),
        "above_next": [names[k] if 0 <= k < len(names) else None for k in (at - 1, at + 1)],
    }


def _look_panel(board: Board) -> dict[str, Any]:
    return {
        "still": board.still_svg,
        "still_washes": wash_defs(wash_names([board.still])),
        "part_names": _names(board),
        "part_heights": {part.id: part.height_mm for part in board.plan.parts},
    }


def _comparison(
    request: Request, board: Board, record: PieceRecord, against: int
) -> dict[str, Any]:
    old = kept(request, pieces.get_revision, record.id, against)
    if old is None:
        return {}
    try:
        before = open_revision(record.id, against, old.document)
    except DocumentError:
        return {}
    return {"comparison": compare(before, board, (against, record.revision))}


def _names(board: Board) -> list[tuple[str, str]]:
    return [(part.id, part.title) for part in board.piece.parts]


def _several_panel(document: dict[str, Any], place: Place) -> dict[str, Any]:
    names = {ring["id"] for part in document["parts"] for ring in part.get("rings", ())}
    return {
        "ticked_count": sum(name in names for name in place.ticked),
        "most_woods": MOST_WOODS,
        "joints": (("", "as they are"), *ring_form.JOINTS),
    }


def _ring_panel(board: Board, document: dict[str, Any], place: Place) -> dict[str, Any]:
    for part in document["parts"]:
        rings = part.get("rings", [])
        for index, ring in enumerate(rings):
            if ring["id"] == place.ring:
                worked = board.planned.work.by_ring[ring["id"]]
                planned = next(r for p in board.plan.parts for r in p.rings if r.id == ring["id"])
                return {
                    "ring": {**ring_form.UNSAID, **ring},
                    "ring_stays": is_by_hand(ring),
                    "ring_picture": ring_alone(board, ring["id"]),
                    "ring_index": index,
                    "ring_count": len(rings),
                    "ring_part": board.piece.part(part["id"]).title,
                    "ring_plan": planned,
                    "ring_woods": ring.get("woods") or [worked.woods[0]],
                    "joint": ring_form.joint_kind(ring),
                    "kinds": ring_form.KINDS,
                    "joints": ring_form.JOINTS,
                    "grains": ring_form.GRAINS,
                }
    return {"ring": None}


def _revisions(request: Request, record: PieceRecord) -> tuple[RevisionRow, ...]:
    with store_of(request).read() as session:
        saved = pieces.list_revisions(session, record.id)
    return tuple(
        RevisionRow(one.revision, _when(one.saved_at), one.device or "")
        for one in saved[:SHOWN_REVISIONS]
    )


def _when(at: datetime) -> str:
    return f"{at.astimezone():%-d %b, %H:%M}"
