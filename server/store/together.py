"""Which pieces are sawn together, from the same boards at once: one list for the shop's one saw."""

from collections.abc import Sequence
from datetime import datetime

from sqlmodel import Session

from server.store import shelf

SHELF = "together"
LIST_ID = "sawn-together"


def sawn_together(session: Session) -> list[str]:
    """Ids of pieces, the one whose saw is set first; empty where each is sawn alone."""
    record = shelf.get_record(session, SHELF, LIST_ID)
    return [] if record is None else [str(piece) for piece in record.document.get("pieces", ())]


def saw_together(
    session: Session, pieces: Sequence[str], now: datetime, device: str | None = None
) -> None:
    """Keep the list as its next revision."""
    document = {"pieces": list(pieces)}
    shelf.put_record(session, SHELF, LIST_ID, "Sawn together", document, now, device)
