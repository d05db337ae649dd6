"""Photos of a piece: sent as a form with a file, noted in the ledger, shown again."""

import uuid
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, HTTPException, Request, UploadFile
from fastapi.responses import FileResponse

from server.api.entries import EntryIn, draft_of
from server.api.pieces import kept_piece
from server.api.replies import refusals
from server.craft.ledger import Entry, Kind
from server.live.entries import entry_json, moment
from server.store import ledger
from server.store.photos import find_photo, keep_photo
from server.web.bodies import LARGEST_FILE, LARGEST_FILE_BODY
from server.web.state import device_of, hub_of, now_of, settings_of, store_of

router = APIRouter(prefix="/api/pieces/{piece_id}/photos", tags=["photos"])

_A_YEAR = "private, max-age=31536000, immutable"

Words = Annotated[str | None, Form()]


@router.post("", status_code=201, responses=refusals(404, 409), max_body_size=LARGEST_FILE_BODY)
def add_photo(
    request: Request,
    piece_id: str,
    photo: Annotated[UploadFile, File(description="JPEG, PNG or WebP, at most 20 MiB")],
    subject: Words = None,
    part: Words = None,
    note: Words = None,
    at: Words = None,
    id: Words = None,
    device: Words = None,
) -> dict[str, Any]:
    """Keep a photo of a piece, or of a ring, stack, part or joint of it."""
    kept_piece(request, piece_id)
    content = photo.file.read(LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        raise HTTPException(413, "A photo may be 20 MiB at most.")
    kept = keep_photo(settings_of(request).data_dir, content)
    sent = EntryIn.model_validate(
        {
            "id": id or str(uuid.uuid4()),
            "piece": piece_id,
            "part": part or None,
            "kind": str(Kind.PHOTO),
            "subject": subject or piece_id,
            "at": at or moment(now_of(request)),
            "note": note or None,
            "device": device or None,
            "data": {"sha256": kept.sha256, "type": kept.type, "bytes": kept.bytes},
        }
    )
    draft = draft_of(sent, device_of(request))
    with store_of(request).write() as session:
        entry, new = ledger.append(session, draft, now_of(request))
    if new:
        hub_of(request).publish(entry.seq)
    return entry_json(entry)


@router.get("", responses=refusals(404))
def list_photos(request: Request, piece_id: str) -> dict[str, Any]:
    """The photos of a piece that were not taken back, in the order they came."""
    return {"items": [entry_json(entry) for entry in _photos(request, piece_id)]}


@router.get("/{sha256}", response_class=FileResponse, responses=refusals(404))
def get_photo(request: Request, piece_id: str, sha256: str) -> FileResponse:
    """One photo."""
    for entry in _photos(request, piece_id):
        if entry.data.get("sha256") == sha256:
            media_type = str(entry.data.get("type"))
            path = find_photo(settings_of(request).data_dir, sha256, media_type)
            if path is not None:
                headers = {"cache-control": _A_YEAR}
                return FileResponse(path, media_type=media_type, headers=headers)
    raise HTTPException(404, "There is no such photo of this piece.")


def _photos(request: Request, piece_id: str) -> list[Entry]:
    kept_piece(request, piece_id)
    with store_of(request).read() as session:
        entries = ledger.entries_for(session, piece_id)
    undone = {entry.undoes for entry in entries if entry.kind is Kind.UNDONE}
    return [one for one in entries if one.kind is Kind.PHOTO and one.id not in undone]
