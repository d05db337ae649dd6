"""Things on the rack, one at a time: look, put there, correct, take off, put back."""

from typing import Any

from fastapi import APIRouter, Request, Response

from server.craft.document import DocumentError, parse_piece
from server.craft.document.base import SMALLEST_SIZE_MM
from server.craft.document.shop import Saw
from server.craft.errors import FieldError
from server.craft.planned import work_out
from server.craft.saw.resaw import leaf_mm
from server.craft.units import Units, format_length
from server.rooms.lumber_rack.item import (
    FIELDS,
    GRAINS,
    KINDS,
    defect_rows,
    kept_as,
    read_item,
)
from server.rooms.lumber_rack.rack import ADDRESS, UNITS_COOKIE, Rack, rack_of, show
from server.rooms.lumber_rack.uses_pages import uses_view
from server.rooms.lumber_rack.views import (
    SHEET_LONG,
    amounts,
    board_picture,
    ring_picture,
    sold_options,
    wood_options,
)
from server.store import pieces, rack
from server.store.rack import RevisionConflict
from server.web.fields import Fields, FormText
from server.web.replies import go_to
from server.web.state import device_of, now_of, store_of
from server.web.stock import Thing, must_find, put_back, save_thing, take_off

router = APIRouter()
_YEAR_S = 365 * 24 * 3600


@router.get(ADDRESS)
def whole_rack(request: Request, archived: bool = False) -> Response:
    """The list; beside it what to do, or what is there no more."""
    now = rack_of(request)
    if archived:
        things = sorted(now.things.values(), key=lambda thing: thing.changed_at, reverse=True)
        context = {
            "archived": [thing for thing in things if thing.archived],
            "used_up": [thing for thing in things if thing.used_up],
            "woods": now.woods,
        }
        return show(request, now, "archived", context)
    return show(request, now, "start", {})


@router.post(f"{ADDRESS}/units")
def set_units(request: Request, form: FormText) -> Response:
    """What this device reads and types lengths in, kept in its cookie."""
    reply = go_to(request, ADDRESS)
    units = Fields(form).choice("units", ("mm", "in"))
    reply.set_cookie(UNITS_COOKIE, units, max_age=_YEAR_S, samesite="lax")
    return reply


@router.get(f"{ADDRESS}/new")
def new_item(
    request: Request, kind: str = "board", piece: str | None = None, ring: str | None = None
) -> Response:
    """An empty form, or one that a ring of a piece has filled in."""
    now = rack_of(request)
    document: dict[str, Any] = {"kind": kind if kind in dict(KINDS) else "board", "count": 1}
    if piece and ring:
        document |= _ring_of(request, piece, ring)
    return show(request, now, "item", _form(now, document, None))


@router.post(f"{ADDRESS}/items")
def create(request: Request, form: FormText) -> Response:
    """Put a thing on the rack."""
    now = rack_of(request)
    fields = Fields(form, now.units)
    document = read_item(fields, now.woods)
    if not fields.ok:
        return show(request, now, "item", _form(now, document, None, fields), status=422)
    with store_of(request).write() as session:
        item = rack.create_item(session, document, now_of(request), device_of(request))
    return go_to(request, f"{ADDRESS}/items/{item.id}")


@router.get(ADDRESS + "/items/{item_id}")
def one_item(request: Request, item_id: str) -> Response:
    """One thing, to look at and to correct."""
    now = rack_of(request)
    context = _item(request, now, must_find(now.things, item_id))
    return show(request, now, "item", context, here=item_id)


@router.post(ADDRESS + "/items/{item_id}")
def save(request: Request, item_id: str, form: FormText) -> Response:
    """Keep what was corrected as the next revision; what was used stays used."""
    now = rack_of(request)
    item = must_find(now.things, item_id)
    fields = Fields(form, now.units)
    document = kept_as(read_item(fields, now.woods), item.document)
    if not fields.ok:
        return show(
            request, now, "item", _item(request, now, item, fields), here=item_id, status=422
        )
    document["count"] = int(document.get("count", 0)) + item.used
    seen = fields.whole("revision", low=0, high=10**9)
    try:
        with store_of(request).write() as session:
            save_thing(session, item, document, seen, now_of(request), device_of(request))
    except RevisionConflict as conflict:
        words = f"{conflict} What you typed is still here; save again to keep yours."
        current = must_find(rack_of(request).things, item_id)
        context = _item(request, now, current, fields) | {"said": words}
        return show(request, now, "item", context, here=item_id, status=409)
    return go_to(request, f"{ADDRESS}/items/{item_id}")


@router.post(ADDRESS + "/items/{item_id}/archive")
def archive(request: Request, item_id: str) -> Response:
    """Take a thing off the rack; it can be put back."""
    thing = must_find(rack_of(request).things, item_id)
    with store_of(request).write() as session:
        take_off(session, thing, now_of(request))
    return go_to(request, f"{ADDRESS}?archived=true")


@router.post(ADDRESS + "/items/{item_id}/restore")
def restore(request: Request, item_id: str) -> Response:
    """Put it back."""
    thing = must_find(rack_of(request).things, item_id)
    with store_of(request).write() as session:
        put_back(session, thing)
    return go_to(request, f"{ADDRESS}/items/{item_id}")


def _item(request: Request, now: Rack, item: Thing, fields: Fields | None = None) -> dict[str, Any]:
    left = item.left if item.stock else int(item.document.get("count", 1))
    return {
        **_form(now, {**item.document, "count": left}, item, fields),
        **_facts(request, now, item.document, item.id, left),
    }


def _facts(
    request: Request, now: Rack, document: dict[str, Any], item_id: str, left: int
) -> dict[str, Any]:
    ring = document.get("kind") == "spare-ring"
    long = document.get("length_mm")
    picture: Any = ""
    if ring:
        picture = ring_picture(document, now.woods)
    elif long and document.get("width_mm"):
        picture = board_picture(document, now.woods, _sheet_scale(document), SHEET_LONG)
    return {
        "amounts": amounts(document, left),
        "picture": picture,
        "uses": uses_view(request, item_id),
        "pieces": now.pieces,
        "left": left,
    }


def _sheet_scale(document: dict[str, Any]) -> float:
    return min(SHEET_LONG / float(document["length_mm"]), 260.0 / float(document["width_mm"]))


def _form(
    now: Rack, document: dict[str, Any], item: Thing | None, fields: Fields | None = None
) -> dict[str, Any]:
    kind = fields.typed.get("kind", "board") if fields else document.get("kind", "board")
    typed = defect_rows(fields) if fields else None
    return {
        "item": item,
        "doc": {**dict.fromkeys(FIELDS), **document},
        "kind": kind,
        "form": fields,
        "kinds": KINDS,
        "grains": GRAINS,
        "wood_options": wood_options(now.woods),
        "sold": sold_options(now.units),
        "typed_defects": typed,
        "leaf_words": _leaf_words(document, now.units),
        "amounts": None,
        "picture": "",
        "uses": (),
        "pieces": now.pieces,
        "left": 0,
        "said": "",
    }


def _leaf_words(document: dict[str, Any], units: Units) -> str:
    """What the layout is then offered: leaves of this thickness, a kerf lost between them."""
    leaves, thick_mm = document.get("leaves"), document.get("thickness_mm")
    if not leaves or not thick_mm:
        return "1 leaves it as it is"
    thin_mm = leaf_mm(float(thick_mm), int(leaves), Saw().rip_kerf_mm)
    if thin_mm < SMALLEST_SIZE_MM:
        return "So many are all kerf"
    return f"About {format_length(thin_mm, units)} each, by the saw of the piece"


def _ring_of(request: Request, piece_id: str, ring_id: str) -> dict[str, Any]:
    """A ring of a piece as a spare ring: as sawn, before it is turned."""
    with store_of(request).read() as session:
        record = pieces.get_piece(session, piece_id)
    if record is None:
        return {}
    try:
        piece = parse_piece(record.document)
    except (DocumentError, FieldError):
        return {}
    worked = work_out(piece).work.by_ring.get(ring_id)
    if worked is None or worked.outside_mm is None or not worked.ring.is_segmented:
        return {}
    return {
        "kind": "spare-ring",
        "name": f"Ring left from {record.name}",
        "wood": worked.woods[0],
        "woods": list(dict.fromkeys(worked.woods)),
        "segments": worked.ring.segments,
        "thickness_mm": worked.ring.thickness_mm,
        "outside_diameter_mm": 2 * worked.outside_mm,
        "inside_diameter_mm": 2 * worked.inside_mm,
    }
