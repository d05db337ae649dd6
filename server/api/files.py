"""Files of a piece: of a document that is sent, or of a kept one."""

from collections.abc import Iterator
from typing import Annotated

from fastapi import APIRouter, HTTPException, Path, Query, Request, Response

from server.api.documents import PieceDocument, SentPiece, parsed
from server.api.moments import Moment
from server.api.pieces import kept_piece
from server.api.replies import refusals
from server.craft.floor import fold
from server.craft.ledger import Entry, Kind
from server.exports.archive import PhotoFile, piece_zip
from server.exports.files import FILES, Order, disposition
from server.exports.typeset.paper import Paper
from server.live.entries import entry_json
from server.store import ledger
from server.store.photos import find_photo
from server.store.pieces import PieceRecord
from server.web.state import now_of, settings_of, store_of

router = APIRouter(tags=["files"])

ZIP = "piece.zip"
_NO_SUCH = "There is no such file. There are " + ", ".join(FILES) + "."

Name = Annotated[str, Path(description="One of " + ", ".join(FILES))]
PaperAsked = Annotated[
    Paper | None, Query(description="Paper of the PDFs; without it by the piece’s display units")
]
Start = Annotated[
    Moment | None, Query(description="When gluing begins, for gluing.ics; without it now")
]


@router.post("/api/files/{name}", response_class=Response, responses=refusals(404))
def file_of_document(
    request: Request,
    name: Name,
    document: PieceDocument,
    piece: SentPiece,
    paper: PaperAsked = None,
    start: Start = None,
) -> Response:
    """Write a file of a piece document; nothing is kept."""
    _refuse_unknown(name)
    order = Order(document, piece, now_of(request), paper, start)
    return _file(name, order)


@router.get("/api/pieces/{piece_id}/files/{name}", response_class=Response, responses=refusals(404))
def file_of_kept(
    request: Request,
    piece_id: str,
    name: Name,
    paper: PaperAsked = None,
    start: Start = None,
) -> Response:
    """Write a file of a kept piece; `piece.zip` brings its photos and its ledger along."""
    if name != ZIP:
        _refuse_unknown(name)
    record = kept_piece(request, piece_id)
    with store_of(request).read() as session:
        entries = ledger.entries_for(session, piece_id)
    if name == ZIP:
        return _zip(request, record, entries)
    now = now_of(request)
    order = Order(
        record.document,
        parsed(record.document),
        now,
        paper,
        start,
        record.id,
        record.revision,
        fold(entries, now=now),
        f"{request.base_url}pieces/{record.id}",
    )
    return _file(name, order)


def _refuse_unknown(name: str) -> None:
    if name not in FILES:
        raise HTTPException(404, _NO_SUCH)


def _file(name: str, order: Order) -> Response:
    kind = FILES[name]
    return _download(kind.write(order), kind.media_type, order.piece.name, kind.suffix)


def _zip(request: Request, record: PieceRecord, entries: list[Entry]) -> Response:
    lines = [entry_json(entry) for entry in entries]
    photos = _photos(request, entries)
    content = piece_zip(record.document, lines, photos, now_of(request))
    return _download(content, "application/zip", record.name, ".zip")


def _photos(request: Request, entries: list[Entry]) -> Iterator[PhotoFile]:
    """The pictures that were not taken back."""
    undone = {entry.undoes for entry in entries if entry.kind is Kind.UNDONE}
    for entry in entries:
        if entry.kind is not Kind.PHOTO or entry.id in undone:
            continue
        digest, media_type = str(entry.data.get("sha256")), str(entry.data.get("type"))
        path = find_photo(settings_of(request).data_dir, digest, media_type)
        if path is not None:
            yield PhotoFile(digest, path)


def _download(content: bytes, media_type: str, name: str, suffix: str) -> Response:
    headers = {"content-disposition": disposition(name, suffix), "cache-control": "no-store"}
    # The media type stands as it is: only what is text says its characters.
    return Response(content, headers={"content-type": media_type, **headers})
