"""The lumber rack over the API: boards, strips, offcuts and spare rings."""

from typing import Annotated, Any

from fastapi import APIRouter, Body, Depends, HTTPException, Request, Response

from server.api.documents import BasedOn
from server.api.rack_item import RackItemIn
from server.api.replies import refusals
from server.live.entries import moment
from server.store import rack
from server.store.rack import RackItem
from server.store.shelf import RevisionConflict, SavedRevision
from server.web.problems import problem
from server.web.state import device_of, now_of, store_of

router = APIRouter(prefix="/api/rack", tags=["rack"])


def checked_item(document: Annotated[dict[str, Any], Body()]) -> dict[str, Any]:
    """The document as it was sent, after it proved to be a thing for the rack."""
    RackItemIn.model_validate(document)
    return document


RackDocument = Annotated[dict[str, Any], Depends(checked_item)]


@router.get("", responses=refusals())
def list_items(request: Request, archived: bool = False) -> dict[str, Any]:
    """What is on the rack, last changed first; what was taken off it when asked for."""
    with store_of(request).read() as session:
        items = rack.list_items(session, archived)
    return {"items": [whole(item) for item in items]}


@router.post("", status_code=201, responses=refusals())
def create_item(request: Request, response: Response, document: RackDocument) -> dict[str, Any]:
    """Put a thing on the rack, under its own id or a new one."""
    with store_of(request).write() as session:
        item = rack.create_item(session, document, now_of(request), device_of(request))
    response.headers["location"] = f"/api/rack/{item.id}"
    return whole(item)


@router.get("/{item_id}", responses=refusals(404))
def get_item(request: Request, response: Response, item_id: str) -> dict[str, Any]:
    """One thing on the rack."""
    item = _kept(request, item_id)
    response.headers["etag"] = f'"{item.revision}"'
    return whole(item)


@router.put("/{item_id}", responses=refusals(404, 409, 428))
def replace_item(request: Request, item_id: str, based_on: BasedOn, document: RackDocument) -> Any:
    """Save the next revision of a thing; refused when somebody saved in the meantime."""
    try:
        with store_of(request).write() as session:
            item = rack.replace_item(
                session, item_id, document, based_on, now_of(request), device_of(request)
            )
    except RevisionConflict as conflict:
        current = whole(rack.item_of(conflict.current))
        return problem(409, str(conflict), current=current, yours=document)
    return whole(item)


@router.delete("/{item_id}", responses=refusals(404))
def archive_item(request: Request, item_id: str) -> dict[str, Any]:
    """Take a thing off the rack. Nothing is deleted; it can be put back."""
    with store_of(request).write() as session:
        item = rack.archive_item(session, item_id, now_of(request))
    return whole(item)


@router.post("/{item_id}/restore", responses=refusals(404))
def restore_item(request: Request, item_id: str) -> dict[str, Any]:
    """Put an archived thing back on the rack."""
    with store_of(request).write() as session:
        item = rack.restore_item(session, item_id)
    return whole(item)


@router.get("/{item_id}/revisions", responses=refusals(404))
def list_revisions(request: Request, item_id: str) -> dict[str, Any]:
    """What a thing on the rack was before, newest first."""
    _kept(request, item_id)
    with store_of(request).read() as session:
        saved = rack.list_item_revisions(session, item_id)
    return {"items": [_revision(one) for one in saved]}


def whole(item: RackItem) -> dict[str, Any]:
    """A thing on the rack with its document."""
    return {
        "id": item.id,
        "revision": item.revision,
        "kind": item.kind,
        "archived": item.archived,
        "created_at": moment(item.created_at),
        "changed_at": moment(item.changed_at),
        "item": item.document,
    }


def _kept(request: Request, item_id: str) -> RackItem:
    with store_of(request).read() as session:
        item = rack.get_item(session, item_id)
    if item is None:
        raise HTTPException(404, "There is no such thing on the rack.")
    return item


def _revision(saved: SavedRevision) -> dict[str, Any]:
    return {
        "revision": saved.revision,
        "saved_at": moment(saved.saved_at),
        "device": saved.device,
        "item": saved.document,
    }
