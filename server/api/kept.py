"""The operations that every shelf of kept things has, made once: list, keep, read, save again,
put away, bring back."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Depends, HTTPException, Request, Response

from server.api.documents import BasedOn
from server.api.replies import refusals
from server.store.shelf import RevisionConflict
from server.web.problems import problem

Reply = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Shelf:
    """What one shelf does its own way. A reply always carries `id` and `revision`.

    `whole` is the newest state of one thing, None for an unknown id; `conflict` what is kept
    where somebody was faster. `archive` and `restore` raise NotKept for an unknown id.
    """

    address: str
    one: str
    checked: Callable[..., Any]
    listed: Callable[[Request, bool], list[Reply]]
    create: Callable[[Request, Mapping[str, Any]], Reply]
    whole: Callable[[Request, str], Reply | None]
    save: Callable[[Request, str, Mapping[str, Any], int], Reply]
    conflict: Callable[[Request, RevisionConflict], Reply]
    archive: Callable[[Request, str], Reply]
    restore: Callable[[Request, str], Reply]
    revisions: Callable[[Request, str], list[Reply]]


def kept_router(shelf: Shelf) -> APIRouter:
    """The shelf's operations under its address."""
    router = APIRouter(prefix=shelf.address, tags=[shelf.address.rsplit("/", 1)[1]])
    _add_reading(router, shelf)
    _add_writing(router, shelf)
    return router


def must_find(shelf: Shelf, request: Request, kept_id: str) -> Reply:
    """The thing, archived or not. Raises 404."""
    found = shelf.whole(request, kept_id)
    if found is None:
        raise HTTPException(404, f"There is no such {shelf.one}.")
    return found


def _add_reading(router: APIRouter, shelf: Shelf) -> None:
    @router.get("", responses=refusals())
    def list_kept(request: Request, archived: bool = False) -> Reply:
        """All that is there, last changed first; what was put away when asked for."""
        return {"items": shelf.listed(request, archived)}

    @router.get("/{kept_id}", responses=refusals(404))
    def get_kept(request: Request, response: Response, kept_id: str) -> Reply:
        """One of them as it was saved last."""
        return _tagged(response, must_find(shelf, request, kept_id))

    @router.get("/{kept_id}/revisions", responses=refusals(404))
    def list_revisions(request: Request, kept_id: str) -> Reply:
        """What it was before, newest first, and who saved it when."""
        must_find(shelf, request, kept_id)
        return {"items": shelf.revisions(request, kept_id)}


def _add_writing(router: APIRouter, shelf: Shelf) -> None:
    checked = Depends(shelf.checked)

    @router.post("", status_code=201, responses=refusals())
    def create_kept(
        request: Request, response: Response, document: dict[str, Any] = checked
    ) -> Reply:
        """Keep a new one."""
        made = shelf.create(request, document)
        response.headers["location"] = f"{shelf.address}/{made['id']}"
        return _tagged(response, made)

    @router.put("/{kept_id}", responses=refusals(404, 409, 428))
    def save_kept(
        request: Request,
        response: Response,
        kept_id: str,
        based_on: BasedOn,
        document: dict[str, Any] = checked,
    ) -> Any:
        """Save its next revision; refused when somebody saved in the meantime."""
        try:
            saved = shelf.save(request, kept_id, document, based_on)
        except RevisionConflict as conflict:
            current = shelf.conflict(request, conflict)
            return problem(409, str(conflict), current=current, yours=document)
        return _tagged(response, saved)

    @router.delete("/{kept_id}", responses=refusals(404))
    def archive_kept(request: Request, kept_id: str) -> Reply:
        """Put it away. Nothing is deleted; it can be brought back."""
        return shelf.archive(request, kept_id)

    @router.post("/{kept_id}/restore", responses=refusals(404))
    def restore_kept(request: Request, kept_id: str) -> Reply:
        """Bring it back."""
        return shelf.restore(request, kept_id)


def _tagged(response: Response, reply: Reply) -> Reply:
    response.headers["etag"] = f'"{reply["revision"]}"'
    return reply
