"""The user's own woods, and the price list from which the saw bench says what to buy."""

import re
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from pydantic import ValidationError

from server.craft.document.words import plain_words
from server.craft.wood.user_woods import UserWood
from server.rooms.lumber_rack.item import read_wood
from server.rooms.lumber_rack.rack import ADDRESS, Rack, rack_of, show
from server.rooms.lumber_rack.views import wood_options
from server.store import own_woods, pieces, prices
from server.web.fields import Fields, FormText
from server.web.replies import go_to
from server.web.state import device_of, now_of, store_of

router = APIRouter()
GROUPS = (
    ("hardwood", "hardwood"),
    ("softwood", "softwood"),
    ("imported", "imported"),
    ("laminate", "dyed laminate"),
    ("plywood", "plywood"),
    ("resin", "acrylic or resin"),
    ("metal", "metal"),
    ("other", "something else"),
)
_NUMBERS = ("density_kg_m3", "shrinkage_radial_percent", "shrinkage_tangential_percent")
_MOST = 1_000


@router.get(f"{ADDRESS}/woods")
def woods(request: Request) -> Response:
    """The own woods, and a form for one more."""
    return _woods(request, rack_of(request), None)


@router.post(f"{ADDRESS}/woods")
def add_wood(request: Request, form: FormText) -> Response:
    """Keep one more wood, or the same one corrected."""
    now = rack_of(request)
    fields = Fields(form, now.units)
    wood = _read_wood(fields)
    if not fields.ok or wood is None:
        return _woods(request, now, fields, 422)
    with store_of(request).write() as session:
        kept = [one for one in own_woods.own_woods(session) if one["id"] != wood["id"]]
        own_woods.save_own_woods(session, [*kept, wood], now_of(request), device_of(request))
    return go_to(request, f"{ADDRESS}/woods")


@router.post(ADDRESS + "/woods/{wood_id}/remove")
def remove_wood(request: Request, wood_id: str) -> Response:
    """Take a wood off the list; older lists keep it."""
    with store_of(request).write() as session:
        kept = [one for one in own_woods.own_woods(session) if one["id"] != wood_id]
        own_woods.save_own_woods(session, kept, now_of(request), device_of(request))
    return go_to(request, f"{ADDRESS}/woods")


@router.post(ADDRESS + "/woods/{wood_id}/draw")
def give_to_piece(request: Request, wood_id: str, form: FormText) -> Response:
    """Write a wood into a piece's drawing, so that its rings can be made of it."""
    piece_id = Fields(form).text("piece")
    with store_of(request).write() as session:
        wood = next((one for one in own_woods.own_woods(session) if one["id"] == wood_id), None)
        record = pieces.get_piece(session, piece_id)
        if wood is None or record is None:
            raise HTTPException(404, "There is no such wood or no such piece.")
        drawn = [one for one in record.document.get("woods") or () if one.get("id") != wood_id]
        document = {**record.document, "woods": [*drawn, wood]}
        pieces.save_revision(
            session, piece_id, document, record.revision, now_of(request), device_of(request)
        )
    return go_to(request, f"{ADDRESS}/woods")


@router.get(f"{ADDRESS}/prices")
def price_list(request: Request) -> Response:
    """The price list, and a form for one more line."""
    return _prices(request, rack_of(request), None)


@router.post(f"{ADDRESS}/prices")
def add_price(request: Request, form: FormText) -> Response:
    """One more board that a dealer offers."""
    now = rack_of(request)
    fields = Fields(form, now.units)
    offer = {
        "wood": read_wood(fields, "wood", now.woods),
        "thickness_mm": fields.length("thickness_mm", high=3_000),
        "width_mm": fields.length("width_mm", high=3_000),
        "length_mm": fields.length("length_mm", high=20_000),
        "price_per_board_foot": fields.number("price_per_board_foot", low=0, high=1e9),
        "dealer": fields.text("dealer", required=False),
    }
    if not fields.ok:
        return _prices(request, now, fields, 422)
    with store_of(request).write() as session:
        offers = prices.price_list(session)
        if len(offers) < _MOST:
            prices.save_price_list(session, [*offers, offer], now_of(request), device_of(request))
    return go_to(request, f"{ADDRESS}/prices")


@router.post(ADDRESS + "/prices/{number}/remove")
def remove_price(request: Request, number: int) -> Response:
    """Take a line off the price list."""
    with store_of(request).write() as session:
        offers = prices.price_list(session)
        kept = [offer for place, offer in enumerate(offers) if place != number]
        prices.save_price_list(session, kept, now_of(request), device_of(request))
    return go_to(request, f"{ADDRESS}/prices")


def _woods(request: Request, now: Rack, fields: Fields | None, status: int = 200) -> Response:
    with store_of(request).read() as session:
        own = own_woods.own_woods(session)
    context = {"own": own, "groups_of": GROUPS, "form": fields, "pieces": now.pieces}
    return show(request, now, "woods", context, status=status)


def _prices(request: Request, now: Rack, fields: Fields | None, status: int = 200) -> Response:
    with store_of(request).read() as session:
        offers = prices.price_list(session)
    context = {
        "offers": offers,
        "form": fields,
        "wood_options": wood_options(now.woods),
        "woods": now.woods,
    }
    return show(request, now, "prices", context, status=status)


def _read_wood(fields: Fields) -> dict[str, Any] | None:
    name = fields.text("name")
    wood_id = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:80]
    wood_id = re.sub(r"^[^a-z]+", "", wood_id)
    if name and not wood_id:
        fields.wrong("name", "A name needs a letter from a to z.")
    document: dict[str, Any] = {
        "id": wood_id,
        "name": name,
        "group": fields.choice("group", [value for value, _ in GROUPS]),
        "colour_hex": fields.text("colour_hex", required=False) or "#c9b28a",
    }
    document["grain_hex"] = _darker(document["colour_hex"])
    for number in (*_NUMBERS, "price_per_board_foot"):
        value = fields.number(number, required=False)
        if value is not None:
            document[number] = value
    try:
        UserWood.model_validate(document)
    except ValidationError as wrong:
        for error in wrong.errors():
            place = str(error["loc"][0])
            fields.wrong("name" if place == "id" else place, plain_words(error))
    return document if fields.ok else None


def _darker(colour: str) -> str:
    """The tone of the grain: the face at two thirds."""
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", colour):
        return "#97805a"
    parts = (int(colour[k : k + 2], 16) * 2 // 3 for k in (1, 3, 5))
    return "#" + "".join(f"{part:02x}" for part in parts)
