"""All pieces; a new one, a copy, one out of a file, one put away."""

import copy
import json
from typing import Annotated, Any

from fastapi import APIRouter, File, Request, Response, UploadFile

from server.craft.document import DocumentError, parse_piece
from server.craft.document.kept_shop import shop_of
from server.craft.errors import CraftError, FieldError
from server.craft.units import Units, format_length
from server.craft.wood.species import all_species
from server.rooms.pieces.starts import CHOICES, SIZES, first_document, sketches
from server.rooms.pieces.views import pieces_view
from server.store import pieces, shop
from server.web.bodies import LARGEST_FILE_BODY
from server.web.fields import Fields, FormText
from server.web.floors import floors_of
from server.web.frame import Cell, frame, server_now
from server.web.kept import kept
from server.web.replies import go_to
from server.web.state import device_of, now_of, store_of
from server.web.templates import render

router = APIRouter()

LARGEST_FILE = 1024 * 1024
_COUNT_WORDS = ("None", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")


@router.get("/")
@router.get("/pieces")
def all_pieces(request: Request, archived: bool = False) -> Response:
    """Every piece with its picture and how far along it is."""
    records = kept(request, pieces.list_pieces, archived)
    put_away = 0 if archived else len(kept(request, pieces.list_pieces, True))
    view = pieces_view(records, floors_of(request), server_now(request), archived=archived)
    page = frame(
        request,
        place="pieces",
        subtitle=_count(len(records), archived),
        cells=(Cell("Put away", str(put_away)),) if put_away else (),
    )
    return render(request, "pieces/page.html", {"frame": page, "view": view, "put_away": put_away})


def _count(number: int, archived: bool) -> str:
    word = _COUNT_WORDS[number] if number < len(_COUNT_WORDS) else str(number)
    return f"{word} put away" if archived else f"{word} on the bench"


@router.get("/pieces/new")
def new_piece(request: Request, form: str = "bowl") -> Response:
    """The starting forms, and the door for a file."""
    units = shop_of(kept(request, shop.shop_document)).display_units
    chosen = form if form in CHOICES else "bowl"
    return _new_page(request, Fields({"form": [chosen], "units": [units]}, units), [])


@router.post("/pieces/new")
def make_piece(request: Request, form: FormText) -> Response:
    """Keep a new piece, or say beside the field what is wrong."""
    fields = Fields(form, "in" if form.get("units") == ["in"] else "mm")
    document = _document(request, fields)
    if document is None:
        return _new_page(request, fields, [], status=422)
    return _keep(request, document)


def _document(request: Request, fields: Fields) -> dict[str, Any] | None:
    name = fields.text("name")
    kind = fields.choice("form", tuple(CHOICES))
    units = fields.choice("units", ("mm", "in"))
    wood = fields.choice("wood", [species.id for species in all_species()])
    height = fields.length("height", low=10, required=False)
    diameter = fields.length("diameter", low=10, required=False)
    if not fields.ok:
        return None
    own_height, own_diameter = SIZES[kind]
    height, diameter = height or own_height, diameter or own_diameter
    with store_of(request).read() as session:
        defaults = shop.shop_document(session) | {"display_units": units}
    try:
        document = first_document(name, kind, height, diameter, wood, defaults)
        parse_piece(document)
    except DocumentError as wrong:
        fields.wrong("name", "; ".join(fault.message for fault in wrong.faults[:3]))
        return None
    except CraftError as no:
        fields.wrong("height", str(no))
        return None
    return document


@router.post("/pieces/import", max_body_size=LARGEST_FILE_BODY)
def import_piece(request: Request, file: Annotated[UploadFile, File()]) -> Response:
    """Keep the piece that a file holds, or say where the file is wrong."""
    try:
        document = _read_document(file)
    except DocumentError as wrong:
        return _new_page(request, Fields({}), list(wrong.faults), status=422)
    return _keep(request, document)


def _read_document(file: UploadFile) -> dict[str, Any]:
    raw = file.file.read(LARGEST_FILE + 1)
    if len(raw) > LARGEST_FILE:
        raise DocumentError([FieldError("", "This file is larger than a piece can be.")])
    try:
        document = json.loads(raw)
    except (ValueError, RecursionError):
        raise DocumentError([FieldError("", "This is no piece file: it is no JSON.")]) from None
    if not isinstance(document, dict):
        raise DocumentError([FieldError("", "This is no piece file.")])
    parse_piece(document)
    return document


@router.post("/pieces/{piece_id}/copy")
def copy_piece(request: Request, piece_id: str) -> Response:
    """A second piece with the same drawing and a floor of its own."""
    with store_of(request).write() as session:
        record = pieces.get_piece(session, piece_id)
        if record is None:
            raise pieces.NotKept("There is no such piece.")
        document = copy.deepcopy(record.document)
        document["name"] = f"{record.name}, copy"
        made = pieces.create_piece(session, document, now_of(request), device_of(request))
    return go_to(request, f"/pieces/{made.id}/drawing-board")


@router.post("/pieces/{piece_id}/archive")
def archive_piece(request: Request, piece_id: str) -> Response:
    """Put a piece away; nothing of it is lost."""
    with store_of(request).write() as session:
        pieces.archive_piece(session, piece_id, now_of(request))
    return go_to(request, "/pieces")


@router.post("/pieces/{piece_id}/restore")
def restore_piece(request: Request, piece_id: str) -> Response:
    """Take a piece out again."""
    with store_of(request).write() as session:
        pieces.restore_piece(session, piece_id)
    return go_to(request, "/pieces")


def _keep(request: Request, document: dict[str, Any]) -> Response:
    with store_of(request).write() as session:
        made = pieces.create_piece(session, document, now_of(request), device_of(request))
    return go_to(request, f"/pieces/{made.id}/drawing-board")


def _size(form: str, units: Units) -> str:
    """What a form measures where nothing else is typed."""
    height, diameter = SIZES[form]
    if units == "in":
        return f"Ø {format_length(diameter, units)} × {format_length(height, units)}"
    return f"Ø {diameter:.0f} × {height:.0f}"


def _new_page(
    request: Request, fields: Fields, faults: list[FieldError], status: int = 200
) -> Response:
    context = {
        "frame": frame(request, place="pieces", heading="New piece", subtitle=""),
        "form": fields,
        "choices": list(CHOICES.items()),
        "woods": [(species.id, species.name) for species in all_species()],
        "sizes": {form: _size(form, fields.units) for form in CHOICES},
        "faults": faults,
        "sketches": sketches(),
    }
    return render(request, "pieces/new.html", context, status=status)
