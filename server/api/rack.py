"""The lumber rack over the API: boards, strips, offcuts and spare rings, and the rests that came
back from the saw. `left` says how many of each the ledger leaves there."""

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import Body, Request

from server.api.kept import Reply, Shelf, kept_router
from server.api.rack_item import RackItemIn
from server.live.entries import moment
from server.store import rack
from server.store.shelf import RevisionConflict, SavedRevision
from server.web.state import device_of, now_of, store_of
from server.web.stock import (
    Thing,
    must_find,
    on_rack,
    put_back,
    save_thing,
    take_off,
    things_of,
)


def checked_item(document: Annotated[dict[str, Any], Body()]) -> dict[str, Any]:
    """The document as it was sent, after it proved to be a thing for the rack."""
    RackItemIn.model_validate(document)
    return document


def whole(thing: Thing) -> Reply:
    """A thing on the rack with its document.

    A rest tells from which use it came; its id is the label on the wood, and its revision is 0
    until somebody corrects it.
    """
    use = thing.stock.came_from if thing.stock else None
    return {
        "id": thing.id,
        "revision": thing.revision,
        "kind": thing.kind,
        "archived": thing.archived,
        "created_at": moment(thing.created_at),
        "changed_at": moment(thing.changed_at),
        "left": thing.left,
        "used": thing.used,
        "came_from": {"entry": use.id, "piece": use.piece, "board": use.subject} if use else None,
        "item": thing.document,
    }


def _listed(request: Request, archived: bool) -> list[Reply]:
    things = things_of(request).values()
    shown = (thing for thing in things if thing.archived) if archived else on_rack(things)
    newest_first = sorted(shown, key=lambda thing: thing.changed_at, reverse=True)
    return [whole(thing) for thing in newest_first]


def _create(request: Request, document: Mapping[str, Any]) -> Reply:
    with store_of(request).write() as session:
        item = rack.create_item(session, document, now_of(request), device_of(request))
    return _now(request, item.id)


def _now(request: Request, item_id: str) -> Reply:
    return whole(must_find(things_of(request), item_id))


def _one(request: Request, item_id: str) -> Reply | None:
    thing = things_of(request).get(item_id)
    return whole(thing) if thing else None


def _save(request: Request, item_id: str, document: Mapping[str, Any], based_on: int) -> Reply:
    thing = must_find(things_of(request), item_id)
    with store_of(request).write() as session:
        save_thing(session, thing, document, based_on, now_of(request), device_of(request))
    return _now(request, item_id)


def _conflict(request: Request, conflict: RevisionConflict) -> Reply:
    return _now(request, conflict.current.id)


def _archive(request: Request, item_id: str) -> Reply:
    thing = must_find(things_of(request), item_id)
    with store_of(request).write() as session:
        take_off(session, thing, now_of(request))
    return _now(request, item_id)


def _restore(request: Request, item_id: str) -> Reply:
    thing = must_find(things_of(request), item_id)
    with store_of(request).write() as session:
        put_back(session, thing)
    return _now(request, item_id)


def _revisions(request: Request, item_id: str) -> list[Reply]:
    with store_of(request).read() as session:
        return [_revision(one) for one in rack.list_item_revisions(session, item_id)]


def _revision(saved: SavedRevision) -> Reply:
    return {
        "revision": saved.revision,
        "saved_at": moment(saved.saved_at),
        "device": saved.device,
        "item": saved.document,
    }


router = kept_router(
    Shelf(
        address="/api/rack",
        one="thing on the rack",
        checked=checked_item,
        listed=_listed,
        create=_create,
        whole=_one,
        save=_save,
        conflict=_conflict,
        archive=_archive,
        restore=_restore,
        revisions=_revisions,
    )
)
