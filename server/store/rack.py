"""The lumber rack: boards, strips, offcuts and spare rings, each a document with revisions."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session

from server.store import shelf
from server.store.shelf import NotKept, Record, RevisionConflict, SavedRevision

SHELF = "rack"
KINDS = ("board", "strip", "offcut", "spare-ring")

__all__ = [
    "KINDS",
    "NotKept",
    "RackItem",
    "RevisionConflict",
    "SavedRevision",
    "archive_item",
    "create_item",
    "get_item",
    "item_of",
    "list_item_revisions",
    "list_items",
    "replace_item",
    "restore_item",
    "whole_rack",
]


@dataclass(frozen=True, slots=True)
class RackItem:
    """A thing on the rack. `document` carries its own `id` and `kind`; sizes in mm."""

    id: str
    revision: int
    kind: str
    document: dict[str, Any]
    archived: bool
    created_at: datetime
    changed_at: datetime


def list_items(session: Session, archived: bool = False) -> list[RackItem]:
    """What is on the rack, or what was archived from it; last changed first."""
    return [_item(record) for record in shelf.list_records(session, SHELF, archived=archived)]


def whole_rack(session: Session) -> list[RackItem]:
    """All that is on the rack or was archived from it, last changed first."""
    return [_item(record) for record in shelf.whole_shelf(session, SHELF)]


def get_item(session: Session, item_id: str) -> RackItem | None:
    """A thing on the rack by its id, archived or not."""
    record = shelf.get_record(session, SHELF, item_id)
    return None if record is None else _item(record)


def create_item(
    session: Session, document: Mapping[str, Any], now: datetime, device: str | None = None
) -> RackItem:
    """Put a thing on the rack, under its own `id` or a new one.

    Raises FieldError when that id is taken.
    """
    item_id = str(document.get("id") or shelf.new_id(_label(document)))
    whole = _whole(document, item_id)
    return _item(shelf.create_record(session, SHELF, item_id, _label(whole), whole, now, device))


def replace_item(
    session: Session,
    item_id: str,
    document: Mapping[str, Any],
    if_match: int | None,
    now: datetime,
    device: str | None = None,
) -> RackItem:
    """Save the next revision of a thing on the rack.

    Raises RevisionConflict when `if_match` is not the newest revision, NotKept for an unknown id.
    """
    whole = _whole(document, item_id)
    return _item(
        shelf.save_record(session, SHELF, item_id, _label(whole), whole, if_match, now, device)
    )


def archive_item(session: Session, item_id: str, now: datetime) -> RackItem:
    """Take a thing off the rack; nothing of it is deleted. Raises NotKept."""
    return _item(shelf.archive_record(session, SHELF, item_id, now))


def restore_item(session: Session, item_id: str) -> RackItem:
    """Put an archived thing back on the rack. Raises NotKept."""
    return _item(shelf.restore_record(session, SHELF, item_id))


def list_item_revisions(session: Session, item_id: str) -> list[SavedRevision]:
    """Every revision of a thing on the rack, newest first."""
    return shelf.saved_revisions(session, item_id)


def item_of(record: Record) -> RackItem:
    """A rack item from a kept record, as RevisionConflict carries it."""
    return _item(record)


def _item(record: Record) -> RackItem:
    return RackItem(
        id=record.id,
        revision=record.revision,
        kind=str(record.document.get("kind", KINDS[0])),
        document=record.document,
        archived=record.archived,
        created_at=record.created_at,
        changed_at=record.changed_at,
    )


def _whole(document: Mapping[str, Any], item_id: str) -> dict[str, Any]:
    return {"kind": KINDS[0], **document, "id": item_id}


def _label(document: Mapping[str, Any]) -> str:
    return f"{document.get('wood', '')} {document.get('kind', KINDS[0])}".strip()
