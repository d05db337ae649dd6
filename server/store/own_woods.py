"""The user's own woods, kept for the whole shop: dyed laminate, acrylic, metal."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlmodel import Session

from server.store import shelf

SHELF = "woods"
LIST_ID = "own-woods"


def own_woods(session: Session) -> list[dict[str, Any]]:
    """The woods as documents, in the order in which they were added."""
    record = shelf.get_record(session, SHELF, LIST_ID)
    return [] if record is None else list(record.document.get("woods", ()))


def save_own_woods(
    session: Session,
    woods: Sequence[Mapping[str, Any]],
    now: datetime,
    device: str | None = None,
) -> None:
    """Keep the woods as the list's next revision."""
    document = {"woods": [dict(wood) for wood in woods]}
    shelf.put_record(session, SHELF, LIST_ID, "Own woods", document, now, device)
