"""The rack as it is now, for every page that asks: kept items, and the ledger's uses of them."""

from fastapi import Request

from server.craft.ledger import Entry
from server.craft.stock import Stock, stock_now
from server.store import rack
from server.web.floors import floors_of
from server.web.frame import server_now
from server.web.state import store_of


def stock_of(request: Request) -> tuple[Stock, ...]:
    """Everything on the rack, also what is used up; what was taken off it is not there."""
    with store_of(request).read() as session:
        items = rack.list_items(session)
    return stock_now([item.document for item in items], uses_of(request))


def uses_of(request: Request) -> list[Entry]:
    """Every use of the rack by any piece that was not undone, oldest first."""
    floors = floors_of(request).floors(server_now(request))
    uses = [
        entry
        for floor in floors.values()
        for entries in floor.used.values()
        for entry in entries
        if entry.id not in floor.undone
    ]
    return sorted(uses, key=lambda entry: entry.seq)
