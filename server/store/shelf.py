"""Kept things: a document under an id, every save a revision, nothing ever deleted.

Pieces, the rack and the shop are three shelves of the same kind; their own files say what a
document is called and how its id is made.
"""

import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session, col, select

from server.craft.errors import FieldError
from server.store.errors import StoreError
from server.store.tables import Kept, Revision

_ID_ALPHABET = "abcdefghjkmnpqrstuvwxyz23456789"  # no letters that are read as figures
_ID_TAIL = 5
_SLUG_LENGTH = 40


@dataclass(frozen=True, slots=True)
class Record:
    """A kept thing as of its newest revision. Times are aware."""

    id: str
    revision: int
    document: dict[str, Any]
    name: str
    archived: bool
    created_at: datetime
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class SavedRevision:
    """One saved state. `device` says who saved it, where that is known."""

    revision: int
    document: dict[str, Any]
    saved_at: datetime
    device: str | None


class RevisionConflict(StoreError):  # noqa: N818 - two people saved; nobody made an error
    """Somebody else saved in the meantime; `current` is what is kept now."""

    def __init__(self, current: Record) -> None:
        super().__init__(
            f"Somebody saved revision {current.revision} in the meantime. Nothing was overwritten."
        )
        self.current = current


class NotKept(StoreError):  # noqa: N818
    """There is no such thing on this shelf."""


def new_id(name: str) -> str:
    """A short address made from a name: lower-case letters, digits and hyphens."""
    slug = re.sub(r"[^a-z0-9]+", "-", name[:200].lower()).strip("-")[:_SLUG_LENGTH].strip("-")
    tail = "".join(secrets.choice(_ID_ALPHABET) for _ in range(_ID_TAIL))
    return f"{slug}-{tail}" if slug else tail


def list_records(session: Session, shelf: str, *, archived: bool = False) -> list[Record]:
    """What is on the shelf, or what was archived from it; last changed first."""
    on_shelf = col(Kept.archived_at).is_not(None) if archived else col(Kept.archived_at).is_(None)
    rows = session.exec(
        select(Kept, Revision)
        .join(Revision, _newest())
        .where(Kept.shelf == shelf, on_shelf)
        .order_by(col(Kept.changed_at).desc(), col(Kept.id))
    )
    return [_record(kept, revision) for kept, revision in rows]


def whole_shelf(session: Session, shelf: str) -> list[Record]:
    """All that is on the shelf or was archived from it, last changed first, in one look."""
    rows = session.exec(
        select(Kept, Revision)
        .join(Revision, _newest())
        .where(Kept.shelf == shelf)
        .order_by(col(Kept.changed_at).desc(), col(Kept.id))
    )
    return [_record(kept, revision) for kept, revision in rows]


def get_record(session: Session, shelf: str, kept_id: str) -> Record | None:
    """The thing with that id, archived or not; None when this shelf never held it."""
    row = session.exec(
        select(Kept, Revision)
        .join(Revision, _newest())
        .where(Kept.shelf == shelf, Kept.id == kept_id)
    ).first()
    return None if row is None else _record(*row)


def create_record(
    session: Session,
    shelf: str,
    kept_id: str,
    name: str,
    document: Mapping[str, Any],
    now: datetime,
    device: str | None = None,
) -> Record:
    """Put a new thing on the shelf as revision 1. Raises FieldError for an id that is taken."""
    if session.get(Kept, kept_id) is not None:
        raise FieldError("/id", f"The id “{kept_id}” is taken already.")
    session.add(
        Kept(id=kept_id, shelf=shelf, revision=1, name=name, created_at=now, changed_at=now)
    )
    session.flush()
    _add_revision(session, kept_id, 1, document, now, device)
    return _must_get(session, shelf, kept_id)


def save_record(
    session: Session,
    shelf: str,
    kept_id: str,
    name: str,
    document: Mapping[str, Any],
    if_match: int | None,
    now: datetime,
    device: str | None = None,
) -> Record:
    """Save the next revision.

    `if_match` is the revision that was worked on; None saves over whatever is there. Raises
    RevisionConflict when it is not the newest any more, NotKept for an unknown id.
    """
    kept = _kept(session, shelf, kept_id)
    if if_match is not None and kept.revision != if_match:
        raise RevisionConflict(_must_get(session, shelf, kept_id))
    kept.revision += 1
    kept.name = name
    kept.changed_at = now
    session.add(kept)
    _add_revision(session, kept_id, kept.revision, document, now, device)
    return _must_get(session, shelf, kept_id)


def put_record(
    session: Session,
    shelf: str,
    kept_id: str,
    name: str,
    document: Mapping[str, Any],
    now: datetime,
    device: str | None = None,
) -> Record:
    """Save the next revision over whatever is there; the first one where nothing is."""
    if get_record(session, shelf, kept_id) is None:
        return create_record(session, shelf, kept_id, name, document, now, device)
    return save_record(session, shelf, kept_id, name, document, None, now, device)


def archive_record(session: Session, shelf: str, kept_id: str, now: datetime) -> Record:
    """Take it off the shelf; it can be put back. Raises NotKept for an unknown id."""
    kept = _kept(session, shelf, kept_id)
    kept.archived_at = kept.archived_at or now
    session.add(kept)
    session.flush()
    return _must_get(session, shelf, kept_id)


def restore_record(session: Session, shelf: str, kept_id: str) -> Record:
    """Put an archived thing back on the shelf. Raises NotKept for an unknown id."""
    kept = _kept(session, shelf, kept_id)
    kept.archived_at = None
    session.add(kept)
    session.flush()
    return _must_get(session, shelf, kept_id)


def saved_revisions(session: Session, kept_id: str) -> list[SavedRevision]:
    """Every saved state, newest first."""
    rows = session.exec(
        select(Revision).where(Revision.kept_id == kept_id).order_by(col(Revision.revision).desc())
    )
    return [_saved(row) for row in rows]


def saved_revision(session: Session, kept_id: str, revision: int) -> SavedRevision | None:
    """One saved state, None when there is no such revision."""
    row = session.get(Revision, (kept_id, revision))
    return None if row is None else _saved(row)


def _newest() -> Any:
    return (col(Revision.kept_id) == Kept.id) & (col(Revision.revision) == Kept.revision)


def _kept(session: Session, shelf: str, kept_id: str) -> Kept:
    kept = session.get(Kept, kept_id)
    if kept is None or kept.shelf != shelf:
        raise NotKept(f"There is nothing with the id “{kept_id}” here.")
    return kept


def _must_get(session: Session, shelf: str, kept_id: str) -> Record:
    record = get_record(session, shelf, kept_id)
    assert record is not None, "a kept thing always has its newest revision"
    return record


def _add_revision(
    session: Session,
    kept_id: str,
    number: int,
    document: Mapping[str, Any],
    now: datetime,
    device: str | None,
) -> None:
    session.add(
        Revision(
            kept_id=kept_id, revision=number, document=dict(document), saved_at=now, device=device
        )
    )
    session.flush()


def _record(kept: Kept, revision: Revision) -> Record:
    return Record(
        id=kept.id,
        revision=kept.revision,
        document=dict(revision.document),
        name=kept.name,
        archived=kept.archived_at is not None,
        created_at=kept.created_at,
        changed_at=kept.changed_at,
    )


def _saved(row: Revision) -> SavedRevision:
    return SavedRevision(
        revision=row.revision,
        document=dict(row.document),
        saved_at=row.saved_at,
        device=row.device,
    )
