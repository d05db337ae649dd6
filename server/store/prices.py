"""The price list that the user keeps: boards as dealers offer them, one document."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlmodel import Session

from server.store import shelf

SHELF = "prices"
LIST_ID = "price-list"


def price_list(session: Session) -> list[dict[str, Any]]:
    """The rows of the list, in the user's order; sizes in mm, price for a board foot."""
    record = shelf.get_record(session, SHELF, LIST_ID)
    return [] if record is None else list(record.document.get("offers", ()))


def save_price_list(
    session: Session,
    offers: Sequence[Mapping[str, Any]],
    now: datetime,
    device: str | None = None,
) -> None:
    """Keep the list as its next revision."""
    document = {"offers": [dict(offer) for offer in offers]}
    shelf.put_record(session, SHELF, LIST_ID, "Price list", document, now, device)
