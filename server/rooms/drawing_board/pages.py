"""The drawing board: look, change, undo. Every change is a revision of the drawing."""

import copy
from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, Response, UploadFile
from fastapi.responses import FileResponse, JSONResponse
from PIL import Image

from server.craft.document import DocumentError, parse_piece
from server.craft.errors import CraftError
from server.craft.glue.adhesives import all_glues
from server.rooms.drawing_board.acts import ACTS, Hands
from server.rooms.drawing_board.board import open_board, open_kept
from server.rooms.drawing_board.context import Said, desk_context
from server.rooms.drawing_board.desk import Place
from server.rooms.drawing_board.edits import Document
from server.rooms.drawing_board.look import look
from server.rooms.drawing_board.paint import lay_picture, read_pixels
from server.rooms.drawing_board.shape import UNDERLAY, lay_under, set_shape
from server.rooms.drawing_board.views import trial_view
from server.rooms.drawing_board.woods import AtHand, at_hand, bring_along, known
from server.store import pieces
from server.store.photos import find_photo, keep_photo
from server.store.pieces import PieceRecord
from server.web.bodies import LARGEST_FILE, LARGEST_FILE_BODY
from server.web.fields import Fields, FormText
from server.web.floors import floors_of
from server.web.kept import kept
from server.web.replies import go_to
from server.web.state import device_of, now_of, settings_of, store_of
from server.web.templates import is_exchange, render

router = APIRouter()


def address_of(piece_id: str) -> str:
    """The address of a piece's drawing board."""
    return f"/pieces/{piece_id}/drawing-board"


@router.get("/drawing-board")
def last_board(request: Request) -> Response:
    """The board of the piece that was worked on last."""
    drawn_last = floors_of(request).record(None)
    return go_to(request, address_of(drawn_last.id) if drawn_last else "/pieces")


@router.get("/pieces/{piece_id}/drawing-board")
def board(request: Request, piece_id: str) -> Response:
    """The board at the place that the address names."""
    place = Place.from_query(request.query_params)
    return _show(request, _load(request, piece_id), place, Said())


@router.get("/pieces/{piece_id}/drawing-board/look.json")
def look_json(request: Request, piece_id: str) -> Response:
    """The short description that the browser builds the 3D picture from."""
    return JSONResponse(look(open_kept(_load(request, piece_id))))


@router.post("/pieces/{piece_id}/drawing-board/undo/{revision}")
def go_back(request: Request, piece_id: str, revision: int, form: FormText) -> Response:
    """Make an older drawing the newest one again; the ones between stay in the list."""
    fields = Fields(form)
    place = Place.from_fields(fields)
    with store_of(request).read() as session:
        old = pieces.get_revision(session, piece_id, revision)
    if old is None:
        raise pieces.NotKept(f"There is no drawing {revision} of this piece.")
    return _save(request, piece_id, fields, old.document, replace(place, base=revision))


@router.post("/pieces/{piece_id}/drawing-board/try")
def try_shape(request: Request, piece_id: str, form: FormText) -> Response:
    """Numbers and findings of a form that is still in the hand; nothing is kept."""
    record = _load(request, piece_id)
    fields = Fields(form)
    document = copy.deepcopy(record.document)
    context: dict[str, object] = {"trial": None, "words": ""}
    try:
        set_shape(document, fields.text("of_part"), fields)
        context["trial"] = trial_view(open_board(document))
    except DocumentError as wrong:
        context["words"] = wrong.faults[0].message
    except CraftError as no:
        context["words"] = str(no)
    return render(request, "drawing_board/_trial.html", context)


@router.post("/pieces/{piece_id}/drawing-board/underlay", max_body_size=LARGEST_FILE_BODY)
def add_underlay(
    request: Request,
    piece_id: str,
    photo: Annotated[UploadFile, File()],
    revision: Annotated[int, Form()],
    of_part: Annotated[str, Form()],
) -> Response:
    """Lay a photo or sketch under a part."""
    record = _load(request, piece_id)
    fields = Fields({"revision": [str(revision)]})
    place = Place("form", part=of_part)
    document = copy.deepcopy(record.document)
    data_dir = settings_of(request).data_dir
    try:
        kept = keep_photo(data_dir, photo.file.read(LARGEST_FILE + 1))
        path = find_photo(data_dir, kept.sha256, kept.type)
        if path is None:
            raise CraftError("The photo was not kept.")
        with Image.open(path) as picture:
            lay_under(document, of_part, {"sha256": kept.sha256, "type": kept.type}, picture.size)
    except CraftError as no:
        words = getattr(no, "message", str(no))
        return _show(request, record, place, Said(None, (words,)), status=422)
    return _save(request, piece_id, fields, document, place)


@router.post("/pieces/{piece_id}/drawing-board/picture", max_body_size=LARGEST_FILE_BODY)
def picture_pattern(
    request: Request,
    piece_id: str,
    photo: Annotated[UploadFile, File()],
    revision: Annotated[int, Form()],
    of_part: Annotated[str, Form()],
    wood: Annotated[list[str] | None, Form()] = None,
) -> Response:
    """A picture becomes a pattern: every segment takes the wood that looks nearest."""
    record = _load(request, piece_id)
    fields = Fields({"revision": [str(revision)]})
    place = Place("pattern", part=of_part)
    document = copy.deepcopy(record.document)
    try:
        hand = at_hand(request)
        woods = known(record.document, hand)
        chosen = [(name, woods[name].colour_hex) for name in wood or () if name in woods]
        if len(chosen) < 2:
            raise CraftError("Tick at least two woods that the picture may be made of.")
        lay_picture(document, of_part, read_pixels(photo.file.read(LARGEST_FILE + 1)), chosen)
        bring_along(document, record.document, hand)
        parse_piece(document)
    except CraftError as no:
        return _show(request, record, place, Said(None, (str(no),)), status=422)
    return _save(request, piece_id, fields, document, place)


@router.get("/pieces/{piece_id}/drawing-board/underlay/{part_id}/{mark}")
def underlay(request: Request, piece_id: str, part_id: str, mark: str) -> Response:
    """The photo under a part."""
    record = _load(request, piece_id)
    part: Document = next((p for p in record.document["parts"] if p["id"] == part_id), {})
    kept = (part.get("extra") or {}).get(UNDERLAY) or {}
    digest, media_type = str(kept.get("sha256", "")), str(kept.get("type", ""))
    path = find_photo(settings_of(request).data_dir, digest, media_type)
    if path is None or not digest.startswith(mark):
        raise pieces.NotKept("There is no such photo.")
    headers = {"cache-control": "private, max-age=31536000, immutable"}
    return FileResponse(path, media_type=media_type, headers=headers)


@router.post("/pieces/{piece_id}/drawing-board/{act}")
def change(request: Request, piece_id: str, act: str, form: FormText) -> Response:
    """Change the drawing and keep it as its next revision, or say what is wrong."""
    record = _load(request, piece_id)
    fields = Fields(form, "in" if record.document.get("display_units") == "in" else "mm")
    place = Place.from_fields(fields)
    if act not in ACTS:
        raise pieces.NotKept("The drawing board cannot do that.")
    try:
        hand = at_hand(request)
        document, after = ACTS[act](
            copy.deepcopy(record.document), _hands(record, fields, place, hand)
        )
        bring_along(document, record.document, hand)
        if fields.ok:
            parse_piece(document)
    except DocumentError as wrong:
        words = tuple(fault.message for fault in wrong.faults[:3])
        return _show(request, record, place, Said(fields, words), status=422)
    except CraftError as no:
        return _show(request, record, place, Said(fields, (str(no),)), status=422)
    if not fields.ok:
        return _show(request, record, place, Said(fields), status=422)
    if document == record.document:
        return _show(request, record, after, Said())
    return _save(request, piece_id, fields, document, after.at_newest())


def _hands(record: PieceRecord, fields: Fields, place: Place, hand: AtHand) -> Hands:
    glues = [glue["id"] for glue in record.document.get("glues", ())]
    names = (*(glue.id for glue in all_glues()), *glues)
    return Hands(fields, place, tuple(known(record.document, hand)), names, hand.stock)


def _load(request: Request, piece_id: str) -> PieceRecord:
    record = kept(request, pieces.get_piece, piece_id)
    if record is None:
        raise pieces.NotKept("There is no such piece.")
    return record


def _save(
    request: Request, piece_id: str, fields: Fields, document: Document, place: Place
) -> Response:
    seen = fields.whole("revision", low=1, high=10**9) or 0
    try:
        with store_of(request).write() as session:
            record = pieces.save_revision(
                session, piece_id, document, seen, now_of(request), device_of(request)
            )
    except pieces.RevisionConflict as conflict:
        words = (
            f"Somebody saved drawing {conflict.current.revision} in the meantime. "
            "It is shown now; nothing was overwritten. Please make your change again.",
        )
        return _show(request, conflict.current, place.at_newest(), Said(None, words), status=409)
    if not is_exchange(request):
        return go_to(request, address_of(piece_id) + place.query())
    return _show(request, record, place, Said(saved=True))


def _show(
    request: Request, record: PieceRecord, place: Place, said: Said, status: int = 200
) -> Response:
    context = desk_context(request, record, place, said, address_of(record.id))
    if is_exchange(request):
        headers = {"HX-Push-Url": address_of(record.id) + place.query()}
        return render(request, "drawing_board/_desk.html", context, status, headers)
    return render(request, "drawing_board/page.html", context, status)
