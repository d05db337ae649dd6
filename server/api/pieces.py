"""Pieces over the API: keep a drawing, save it again, look at what it was."""

from typing import Any

from fastapi import APIRouter, HTTPException, Path, Request, Response

from server.api.documents import BasedOn, PieceDocument
from server.api.replies import refusals
from server.live.entries import moment
from server.store import pieces
from server.store.pieces import PieceRecord
from server.store.shelf import RevisionConflict, SavedRevision
from server.web.problems import problem
from server.web.state import device_of, now_of, store_of

router = APIRouter(prefix="/api/pieces", tags=["pieces"])

_NO_SUCH = "There is no such piece."


@router.get("", responses=refusals())
def list_pieces(request: Request, archived: bool = False) -> dict[str, Any]:
    """Every piece, last changed first; the archived ones when asked for."""
    with store_of(request).read() as session:
        records = pieces.list_pieces(session, archived)
    return {"items": [_summary(record) for record in records]}


@router.post("", status_code=201, responses=refusals())
def create_piece(request: Request, response: Response, document: PieceDocument) -> dict[str, Any]:
    """Keep a new piece."""
    with store_of(request).write() as session:
        record = pieces.create_piece(session, document, now_of(request), device_of(request))
    response.headers["location"] = f"/api/pieces/{record.id}"
    response.headers["etag"] = f'"{record.revision}"'
    return whole(record)


@router.get("/{piece_id}", responses=refusals(404))
def get_piece(request: Request, response: Response, piece_id: str) -> dict[str, Any]:
    """One piece with its newest drawing."""
    record = kept_piece(request, piece_id)
    response.headers["etag"] = f'"{record.revision}"'
    return whole(record)


@router.put("/{piece_id}", responses=refusals(404, 409, 428))
def save_piece(
    request: Request, response: Response, piece_id: str, based_on: BasedOn, document: PieceDocument
) -> Any:
    """Save the next revision of a drawing; refused when somebody saved in the meantime."""
    try:
        with store_of(request).write() as session:
            record = pieces.save_revision(
                session, piece_id, document, based_on, now_of(request), device_of(request)
            )
    except RevisionConflict as conflict:
        return problem(409, str(conflict), current=whole(conflict.current), yours=document)
    response.headers["etag"] = f'"{record.revision}"'
    return whole(record)


@router.delete("/{piece_id}", responses=refusals(404))
def archive_piece(request: Request, piece_id: str) -> dict[str, Any]:
    """Put a piece away. Nothing is deleted; it can be brought back."""
    with store_of(request).write() as session:
        record = pieces.archive_piece(session, piece_id, now_of(request))
    return whole(record)


@router.post("/{piece_id}/restore", responses=refusals(404))
def restore_piece(request: Request, piece_id: str) -> dict[str, Any]:
    """Bring an archived piece back."""
    with store_of(request).write() as session:
        record = pieces.restore_piece(session, piece_id)
    return whole(record)


@router.get("/{piece_id}/revisions", responses=refusals(404))
def list_revisions(request: Request, piece_id: str) -> dict[str, Any]:
    """When and by whom a drawing was saved, newest first."""
    kept_piece(request, piece_id)
    with store_of(request).read() as session:
        saved = pieces.list_revisions(session, piece_id)
    return {"items": [_revision(one) for one in saved]}


@router.get("/{piece_id}/revisions/{revision}", responses=refusals(404))
def get_revision(
    request: Request, piece_id: str, revision: int = Path(ge=1, le=2**53)
) -> dict[str, Any]:
    """A drawing as it once was."""
    kept_piece(request, piece_id)
    with store_of(request).read() as session:
        saved = pieces.get_revision(session, piece_id, revision)
    if saved is None:
        raise HTTPException(404, "There is no such revision.")
    return {"id": piece_id, **_revision(saved), "piece": saved.document}


def kept_piece(request: Request, piece_id: str) -> PieceRecord:
    """The piece, archived or not. Raises 404."""
    with store_of(request).read() as session:
        record = pieces.get_piece(session, piece_id)
    if record is None:
        raise HTTPException(404, _NO_SUCH)
    return record


def whole(record: PieceRecord) -> dict[str, Any]:
    """A piece with its drawing."""
    return {**_summary(record), "piece": record.document}


def _summary(record: PieceRecord) -> dict[str, Any]:
    return {
        "id": record.id,
        "revision": record.revision,
        "name": record.name,
        "archived": record.archived,
        "created_at": moment(record.created_at),
        "changed_at": moment(record.changed_at),
    }


def _revision(saved: SavedRevision) -> dict[str, Any]:
    return {
        "revision": saved.revision,
        "saved_at": moment(saved.saved_at),
        "device": saved.device,
        "name": str(saved.document.get("name", "")),
    }
