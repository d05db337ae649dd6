"""The ledger: what was done in the shop, one line each, never edited."""

from dataclasses import fields
from datetime import datetime

from sqlalchemy import func
from sqlmodel import Session, col, select

from server.craft.errors import FieldError
from server.craft.ledger import Entry, EntryDraft, Kind
from server.store.errors import StoreError
from server.store.tables import Kept, LedgerRow

_PIECE_SHELF = "piece"
_SAID = tuple(field.name for field in fields(EntryDraft))
_KEPT = tuple(field.name for field in fields(Entry))


class EntryConflict(StoreError):  # noqa: N818
    """That id was used for something else; `existing` is what is in the ledger."""

    def __init__(self, existing: Entry) -> None:
        super().__init__("This id is in the ledger already, with something else in it.")
        self.existing = existing


def append(session: Session, draft: EntryDraft, now: datetime) -> tuple[Entry, bool]:
    """Write one line and say whether it is new; the same draft again gives the same line.

    Raises EntryConflict when the id is used for something else, FieldError for a piece or an
    undone entry that is not there.
    """
    existing = session.exec(select(LedgerRow).where(LedgerRow.id == draft.id)).first()
    if existing is not None:
        entry = _entry(existing)
        if not _same(entry, draft):
            raise EntryConflict(entry)
        return entry, False
    _assert_known(session, draft)
    said = {name: getattr(draft, name) for name in _SAID}
    row = LedgerRow(**said | {"kind": str(draft.kind), "data": dict(draft.data)}, received_at=now)
    session.add(row)
    session.flush()
    return _entry(row), True


def entries_after(
    session: Session, seq: int, piece: str | None = None, limit: int | None = None
) -> list[Entry]:
    """The lines after a sequence number, oldest first; of one piece or of all."""
    query = select(LedgerRow).where(col(LedgerRow.seq) > seq).order_by(col(LedgerRow.seq))
    if piece is not None:
        query = query.where(LedgerRow.piece == piece)
    if limit is not None:
        query = query.limit(limit)
    return [_entry(row) for row in session.exec(query)]


def entries_for(session: Session, piece: str) -> list[Entry]:
    """Every line about one piece, oldest first."""
    return entries_after(session, 0, piece)


def last_seq(session: Session) -> int:
    """The newest sequence number, 0 for an empty ledger."""
    return session.exec(select(func.max(LedgerRow.seq))).one() or 0


def last_received_at(session: Session, after: int = 0) -> datetime | None:
    """When the newest line after a number arrived; None where there is none."""
    later = select(LedgerRow).where(col(LedgerRow.seq) > after)
    newest = later.order_by(col(LedgerRow.seq).desc()).limit(1)
    row = session.exec(newest).first()
    return None if row is None else row.received_at


def _assert_known(session: Session, draft: EntryDraft) -> None:
    kept = session.get(Kept, draft.piece)
    if kept is None or kept.shelf != _PIECE_SHELF:
        raise FieldError("/piece", f"There is no piece “{draft.piece}”.")
    if draft.undoes is None:
        return
    undone = session.exec(select(LedgerRow).where(LedgerRow.id == draft.undoes)).first()
    if undone is None or undone.piece != draft.piece:
        raise FieldError("/undoes", "There is no such entry of this piece to undo.")


def _same(entry: Entry, draft: EntryDraft) -> bool:
    return (
        entry.piece == draft.piece
        and entry.part == draft.part
        and entry.kind == draft.kind
        and entry.subject == draft.subject
        and entry.at == draft.at
        and entry.note == draft.note
        and entry.undoes == draft.undoes
        and dict(entry.data) == dict(draft.data)
    )


def _entry(row: LedgerRow) -> Entry:
    assert row.seq is not None, "a line that was flushed has its number"
    kept = {name: getattr(row, name) for name in _KEPT}
    return Entry(**kept | {"kind": Kind(row.kind), "data": dict(row.data)})
