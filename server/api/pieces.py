"""Pieces over the API: keep a drawing, save it again, look at what it was."""

from collections.abc import Mapping
from typing import Any

from fastapi import HTTPException, Path, Request

from server.api.documents import checked_piece
from server.api.kept import Reply, Shelf, kept_router
from server.api.replies import refusals
from server.live.entries import moment
from server.store import pieces
from server.store.pieces import PieceRecord
from server.store.shelf import RevisionConflict, SavedRevision
from server.web.state import device_of, now_of, store_of

_NO_SUCH = "There is no such piece."


def kept_piece(request: Request, piece_id: str) -> PieceRecord:
    """The piece, archived or not. Raises 404."""
    with store_of(request).read() as session:
        record = pieces.get_piece(session, piece_id)
    if record is None:
        raise HTTPException(404, _NO_SUCH)
    return record


def _listed(request: Request, archived: bool) -> list[Reply]:
    with store_of(request).read() as session:
        return [_summary(record) for record in pieces.list_pieces(session, archived)]


def _create(request: Request, document: Mapping[str, Any]) -> Reply:
    with store_of(request).write() as session:
        return whole(pieces.create_piece(session, document, now_of(request), device_of(request)))


def _one(request: Request, piece_id: str) -> Reply | None:
    with store_of(request).read() as session:
        record = pieces.get_piece(session, piece_id)
    return whole(record) if record else None


def _save(request: Request, piece_id: str, document: Mapping[str, Any], based_on: int) -> Reply:
    with store_of(request).write() as session:
        record = pieces.save_revision(
            session, piece_id, document, based_on, now_of(request), device_of(request)
        )
    return whole(record)


def _conflict(_request: Request, conflict: RevisionConflict) -> Reply:
    return whole(conflict.current)


def _archive(request: Request, piece_id: str) -> Reply:
    with store_of(request).write() as session:
        return whole(pieces.archive_piece(session, piece_id, now_of(request)))


def _restore(request: Request, piece_id: str) -> Reply:
    with store_of(request).write() as session:
        return whole(pieces.restore_piece(session, piece_id))


def _revisions(request: Request, piece_id: str) -> list[Reply]:
    with store_of(request).read() as session:
        return [_revision(one) for one in pieces.list_revisions(session, piece_id)]


def whole(record: PieceRecord) -> Reply:
    """A piece with its drawing."""
    return {**_summary(record), "piece": record.document}


def _summary(record: PieceRecord) -> Reply:
    return {
        "id": record.id,
        "revision": record.revision,
        "name": record.name,
        "archived": record.archived,
        "created_at": moment(record.created_at),
        "changed_at": moment(record.changed_at),
    }


def _revision(saved: SavedRevision) -> Reply:
    return {
        "revision": saved.revision,
        "saved_at": moment(saved.saved_at),
        "device": saved.device,
        "name": str(saved.document.get("name", "")),
    }


router = kept_router(
    Shelf(
        address="/api/pieces",
        one="piece",
        checked=checked_piece,
        listed=_listed,
        create=_create,
        whole=_one,
        save=_save,
        conflict=_conflict,
        archive=_archive,
        restore=_restore,
        revisions=_revisions,
    )
)


@router.get("/{piece_id}/revisions/{revision}", responses=refusals(404))
def get_revision(request: Request, piece_id: str, revision: int = Path(ge=1, le=2**53)) -> Reply:
    """A drawing as it once was."""
    kept_piece(request, piece_id)
    with store_of(request).read() as session:
        saved = pieces.get_revision(session, piece_id, revision)
    if saved is None:
        raise HTTPException(404, "There is no such revision.")
    return {"id": piece_id, **_revision(saved), "piece": saved.document}
