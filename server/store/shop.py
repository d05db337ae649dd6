"""The shop: saws, lathe, faceplates, jaws, clamps and glues that new pieces start from."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlmodel import Session

from server.store import shelf
from server.store.shelf import Record

SHELF = "shop"
SHOP_ID = "shop"

_EMPTY: dict[str, Any] = {
    "saw": {},
    "lathe": {},
    "room": {},
    "faceplates": [],
    "jaws": [],
    "clamps": [],
    "glues": [],
}


def get_shop(session: Session) -> Record | None:
    """The shop as last saved; None before it was ever saved."""
    return shelf.get_record(session, SHELF, SHOP_ID)


def shop_document(session: Session) -> dict[str, Any]:
    """The shop's document with every heading present, also before it was ever saved."""
    record = get_shop(session)
    return {**_EMPTY, **(record.document if record else {})}


def save_shop(
    session: Session,
    document: Mapping[str, Any],
    now: datetime,
    if_match: int | None = None,
    device: str | None = None,
) -> Record:
    """Save the shop as its next revision.

    Raises RevisionConflict when `if_match` is given and is not the newest revision (0 before
    the first save).
    """
    if get_shop(session) is None:
        return shelf.create_record(session, SHELF, SHOP_ID, "Shop", document, now, device)
    return shelf.save_record(session, SHELF, SHOP_ID, "Shop", document, if_match, now, device)


def revision(session: Session) -> int:
    """The shop's newest revision, 0 before the first save."""
    record = get_shop(session)
    return 0 if record is None else record.revision
