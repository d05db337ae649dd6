"""Pieces: the drawings, each a whole piece document, every save a revision."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlmodel import Session

from server.store import shelf
from server.store.shelf import NotKept, Record, RevisionConflict, SavedRevision

SHELF = "piece"
PieceRecord = Record

__all__ = [
    "NotKept",
    "PieceRecord",
    "RevisionConflict",
    "SavedRevision",
    "archive_piece",
    "create_piece",
    "get_piece",
    "get_revision",
    "list_pieces",
    "list_revisions",
    "restore_piece",
    "save_revision",
]


def list_pieces(session: Session, archived: bool = False) -> list[PieceRecord]:
    """The pieces that are worked on, or the archived ones; last changed first."""
    return shelf.list_records(session, SHELF, archived=archived)


def get_piece(session: Session, piece_id: str) -> PieceRecord | None:
    """A piece by its id, archived or not."""
    return shelf.get_record(session, SHELF, piece_id)


def create_piece(
    session: Session, document: Mapping[str, Any], now: datetime, device: str | None = None
) -> PieceRecord:
    """Keep a new piece; its address is made from its name."""
    name = str(document.get("name", ""))
    return shelf.create_record(session, SHELF, shelf.new_id(name), name, document, now, device)


def save_revision(
    session: Session,
    piece_id: str,
    document: Mapping[str, Any],
    if_match: int,
    now: datetime,
    device: str | None = None,
) -> PieceRecord:
    """Save the next revision of a drawing.

    Raises RevisionConflict when `if_match` is not the newest revision, NotKept for an unknown id.
    """
    name = str(document.get("name", ""))
    return shelf.save_record(session, SHELF, piece_id, name, document, if_match, now, device)


def list_revisions(session: Session, piece_id: str) -> list[SavedRevision]:
    """Every revision of a piece, newest first."""
    return shelf.saved_revisions(session, piece_id)


def get_revision(session: Session, piece_id: str, revision: int) -> SavedRevision | None:
    """One revision of a piece; None when it has none of that number."""
    return shelf.saved_revision(session, piece_id, revision)


def archive_piece(session: Session, piece_id: str, now: datetime) -> PieceRecord:
    """Put a piece away; nothing of it is deleted. Raises NotKept."""
    return shelf.archive_record(session, SHELF, piece_id, now)


def restore_piece(session: Session, piece_id: str) -> PieceRecord:
    """Bring an archived piece back. Raises NotKept."""
    return shelf.restore_record(session, SHELF, piece_id)
