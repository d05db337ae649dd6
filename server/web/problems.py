"""Errors to replies, in one place: problem+json for programs, a page in plain words for people."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from jinja2 import TemplateError
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from server.craft.document.ordinary import pointer
from server.craft.document.parse import field_faults
from server.craft.document.words import plain_words
from server.craft.errors import CraftError, FieldError, GeometryError
from server.store.errors import NotSaved, StoreError
from server.store.ledger import EntryConflict
from server.store.shelf import NotKept, RevisionConflict
from server.web.frame import bare_frame
from server.web.templates import render

PROBLEM_JSON = "application/problem+json"

_WORDS = {
    400: "This request cannot be read.",
    401: "This device is not paired yet.",
    403: "This request is not allowed.",
    404: "There is nothing at this address.",
    405: "This cannot be done at this address.",
    413: "This is larger than is taken here.",
    422: "Some of what was sent cannot be used.",
    428: "Say which revision this is based on.",
    500: "Something went wrong on our side. Nothing was changed.",
    503: "This cannot be done at the moment.",
}


@dataclass(frozen=True, slots=True)
class Wrong:
    """One thing that is wrong: a JSON pointer and what to say beside it."""

    path: str
    message: str


def problem(
    status: int, detail: str | None = None, errors: Sequence[Wrong] = (), **more: Any
) -> JSONResponse:
    """A problem+json reply (RFC 9457); `more` adds members of its own."""
    body: dict[str, Any] = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail or _WORDS.get(status, HTTPStatus(status).phrase),
    }
    if errors:
        body["errors"] = [{"path": wrong.path, "message": wrong.message} for wrong in errors]
    return JSONResponse({**body, **more}, status_code=status, media_type=PROBLEM_JSON)


def reply(
    request: Request,
    status: int,
    detail: str | None = None,
    errors: Sequence[Wrong] = (),
    **more: Any,
) -> Response:
    """A problem for programs; for a browser that asks for a page, a page."""
    if not _wants_page(request):
        return problem(status, detail, errors, **more)
    return error_page(request, status, detail, errors)


def error_page(
    request: Request, status: int, detail: str | None = None, errors: Sequence[Wrong] = ()
) -> Response:
    """A page that says what is wrong and leads back; bare HTML if even that cannot be drawn."""
    words = detail or _WORDS.get(status, HTTPStatus(status).phrase)
    context = {
        "frame": bare_frame(request, "This did not work"),
        "title": words,
        "words": [],
        "errors": [{"path": wrong.path, "message": wrong.message} for wrong in errors],
    }
    try:
        return render(request, "error.html", context, status)
    except TemplateError:
        return HTMLResponse(
            f"<!doctype html><title>Ringwright</title><h1>{escape(words)}</h1>", status
        )


def install(app: FastAPI) -> None:
    """Teach the app what to answer to everything that can go wrong."""
    for kind, handler in _HANDLERS.items():
        app.add_exception_handler(kind, handler)


def wrongs_of(error: Exception) -> list[Wrong]:
    """What a field error, or a bundle of them in `.faults`, says about each field."""
    faults = [error] if isinstance(error, FieldError) else getattr(error, "faults", ())
    return [Wrong(fault.path, fault.message) for fault in faults]


def _wants_page(request: Request) -> bool:
    if request.url.path.startswith("/api/") or request.url.path == "/openapi.json":
        return False
    return "text/html" in request.headers.get("accept", "")


def _told(error: Any) -> Wrong:
    """One of FastAPI's own findings. The step `body` is left out: the pointer starts there."""
    inside = (error.get("ctx") or {}).get("where", ())
    steps = [*(step for step in error["loc"] if step != "body"), *inside]
    return Wrong(pointer(*steps), plain_words(error))


async def _on_request_validation(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    if any(item["type"] == "json_invalid" for item in error.errors()):
        return reply(request, 400, "This is not valid JSON.")
    return reply(request, 422, None, [_told(item) for item in error.errors()])


async def _on_validation(request: Request, error: Exception) -> Response:
    assert isinstance(error, ValidationError)
    wrongs = [Wrong(fault.path, fault.message) for fault in field_faults(error)]
    return reply(request, 422, None, wrongs)


async def _on_craft(request: Request, error: Exception) -> Response:
    wrongs = wrongs_of(error)
    code = {"code": error.code} if isinstance(error, GeometryError) else {}
    return reply(
        request, 422, None if wrongs else str(error), wrongs or [Wrong("", str(error))], **code
    )


async def _on_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    said = str(error.detail)
    # The framework's own phrases say nothing to a turner; ours do.
    plain = (
        None
        if said in {HTTPStatus(error.status_code).phrase, "There was an error parsing the body"}
        else said
    )
    response = reply(request, error.status_code, plain)
    response.headers.update(error.headers or {})
    return response


async def _on_conflict(request: Request, error: Exception) -> Response:
    assert isinstance(error, RevisionConflict)
    current = error.current
    return reply(
        request,
        409,
        str(error),
        current={"id": current.id, "revision": current.revision, "document": current.document},
    )


async def _on_entry_conflict(request: Request, error: Exception) -> Response:
    assert isinstance(error, EntryConflict)
    return reply(request, 409, str(error))


async def _on_not_kept(request: Request, error: Exception) -> Response:
    return reply(request, 404, str(error))


async def _on_store(request: Request, error: Exception) -> Response:
    return reply(request, 503, str(error))


async def _on_too_big(request: Request, _error: Exception) -> Response:
    return reply(request, 422, "These numbers are larger than can be reckoned with.")


async def _on_too_deep(request: Request, _error: Exception) -> Response:
    return reply(request, 422, "This is nested deeper than is taken here.")


async def _on_anything(request: Request, _error: Exception) -> Response:
    return reply(request, 500)


_HANDLERS: dict[Any, Any] = {
    RequestValidationError: _on_request_validation,
    ValidationError: _on_validation,
    CraftError: _on_craft,
    RevisionConflict: _on_conflict,
    EntryConflict: _on_entry_conflict,
    NotKept: _on_not_kept,
    NotSaved: _on_store,
    StoreError: _on_store,
    HTTPException: _on_http,
    OverflowError: _on_too_big,
    RecursionError: _on_too_deep,
    Exception: _on_anything,
}
