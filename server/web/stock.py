"""The rack as it is now, for every page and program that asks: what was put there, the ledger's
uses of it, and the rests that came back."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fastapi import FastAPI, Request
from sqlmodel import Session

from server.craft.ledger import Entry
from server.craft.stock import LABEL_LENGTH, Stock, stock_now
from server.store import rack, rests
from server.store.rack import NotKept, RackItem
from server.web.floors import floors_of
from server.web.last_used import LastUsed
from server.web.state import store_of

NOTHING = "There is no such thing on the rack."


def install(app: FastAPI) -> None:
    """Keep the rack as it was read last, for as long as nothing is saved."""
    app.state.things = LastUsed[int, dict[str, Thing]](1)


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing of the rack, with how much of it the ledger leaves there.

    `revision` is 0 for a rest that is as the saw's line says. Taken off, it has no `stock`.
    """

    id: str
    revision: int
    kind: str
    document: dict[str, Any]
    archived: bool
    created_at: datetime
    changed_at: datetime
    is_rest: bool = False
    stock: Stock | None = None

    @property
    def left(self) -> int:
        """How many lie on the rack."""
        return self.stock.left if self.stock else 0

    @property
    def used(self) -> int:
        """How many the ledger has taken away."""
        return self.stock.used if self.stock else 0

    @property
    def used_up(self) -> bool:
        """Whether all of it was used."""
        return self.used > 0 and self.left == 0


def things_of(request: Request) -> dict[str, Thing]:
    """Everything that is or was on the rack by id, also what is used up and what was taken off."""
    commits = store_of(request).commits
    known: LastUsed[int, dict[str, Thing]] = request.app.state.things
    return known.get(commits, lambda: _read_things(request))


def _read_things(request: Request) -> dict[str, Thing]:
    with store_of(request).read() as session:
        items, told = rack.whole_rack(session), rests.all_rests(session)
    kept, off = _parted(items)
    corrected, gone = _parted(told)
    uses = uses_of(request)
    rows = stock_now(
        [item.document for item in kept],
        uses,
        {item.id: item.document for item in corrected},
        {item.id for item in gone},
    )
    alive = {_label(use) for use in uses}
    known = {item.id: item for item in (*kept, *corrected)}
    things = [
        *(_thing(known[row.id], row) if row.id in known else _rest(row) for row in rows),
        *(_thing(item, None) for item in off),
        *(_thing(item, None, True) for item in gone if item.id.rsplit("-", 1)[0] in alive),
    ]
    return {thing.id: thing for thing in things}


def stock_in(things: Mapping[str, Thing]) -> tuple[Stock, ...]:
    """The rows of the rack, also what is used up; what was taken off it is not there."""
    return tuple(thing.stock for thing in things.values() if thing.stock)


def stock_of(request: Request) -> tuple[Stock, ...]:
    """The rows of the rack as the request finds them."""
    return stock_in(things_of(request))


def on_rack(things: Iterable[Thing]) -> Iterator[Thing]:
    """What lies there now; what is used up has left, what was put there as none has not."""
    return (thing for thing in things if not thing.archived and not thing.used_up)


def uses_of(request: Request) -> list[Entry]:
    """Every use of the rack by any piece that was not undone, oldest first."""
    return floors_of(request).uses()


def save_thing(
    session: Session,
    thing: Thing,
    document: Mapping[str, Any],
    if_match: int | None,
    now: datetime,
    device: str | None,
) -> None:
    """Keep what a thing is like. Raises RevisionConflict when it is not as `if_match` any more."""
    if thing.is_rest:
        rests.save_rest(session, thing.id, document, if_match, now, device)
    else:
        rack.replace_item(session, thing.id, document, if_match, now, device)


def take_off(session: Session, thing: Thing, now: datetime) -> None:
    """Take a thing off the rack; nothing of it is deleted."""
    if thing.is_rest:
        rests.archive_rest(session, thing.id, thing.document, now)
    else:
        rack.archive_item(session, thing.id, now)


def put_back(session: Session, thing: Thing) -> None:
    """Put a thing back on the rack."""
    if thing.is_rest and thing.revision == 0:
        return  # it never was off
    if thing.is_rest:
        rests.restore_rest(session, thing.id)
    else:
        rack.restore_item(session, thing.id)


def must_find(things: Mapping[str, Thing], item_id: str) -> Thing:
    """The thing of that id. Raises NotKept."""
    if item_id not in things:
        raise NotKept(NOTHING)
    return things[item_id]


def _parted(items: list[RackItem]) -> tuple[list[RackItem], list[RackItem]]:
    """What is there, and what was taken off."""
    return [i for i in items if not i.archived], [i for i in items if i.archived]


def _thing(item: RackItem, row: Stock | None, is_rest: bool = False) -> Thing:
    return Thing(
        id=item.id,
        revision=item.revision,
        kind=item.kind,
        document=item.document,
        archived=item.archived,
        created_at=item.created_at,
        changed_at=item.changed_at,
        is_rest=is_rest or (row is not None and row.came_from is not None),
        stock=row,
    )


def _rest(row: Stock) -> Thing:
    assert row.came_from is not None, "what was not put on the rack came back from the saw"
    at = row.came_from.received_at
    return Thing(row.id, 0, row.kind, dict(row.document), False, at, at, True, row)


def _label(use: Entry) -> str:
    return use.id.replace("-", "")[:LABEL_LENGTH]
