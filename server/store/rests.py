"""Rests that came back from the saw, once somebody corrected one or threw it away.

A rest is on the rack by the ledger's word, under its label. Only what a person said of it is kept
here, under the same label, so that it goes with its board when the saw's line is undone.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlmodel import Session

from server.store import shelf
from server.store.rack import RackItem, item_of

SHELF = "rest"


def all_rests(session: Session) -> list[RackItem]:
    """Rests that were corrected, and those that were taken off; last changed first."""
    return [item_of(record) for record in shelf.whole_shelf(session, SHELF)]


def save_rest(
    session: Session,
    label: str,
    document: Mapping[str, Any],
    if_match: int | None,
    now: datetime,
    device: str | None = None,
) -> RackItem:
    """What a rest is really like; revision 0 is what the saw's line says.

    Raises RevisionConflict when somebody corrected it in the meantime.
    """
    whole = {**document, "id": label}
    name = str(document.get("name", label))
    if shelf.get_record(session, SHELF, label) is None:
        return item_of(shelf.create_record(session, SHELF, label, name, whole, now, device))
    return item_of(shelf.save_record(session, SHELF, label, name, whole, if_match, now, device))


def archive_rest(
    session: Session, label: str, document: Mapping[str, Any], now: datetime
) -> RackItem:
    """Take a rest off the rack: thrown away, or burnt. It can be put back."""
    if shelf.get_record(session, SHELF, label) is None:
        save_rest(session, label, document, None, now)
    return item_of(shelf.archive_record(session, SHELF, label, now))


def restore_rest(session: Session, label: str) -> RackItem:
    """Put it back. Raises NotKept."""
    return item_of(shelf.restore_record(session, SHELF, label))
