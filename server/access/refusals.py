"""What the guard says when it refuses: a problem for programs, plain words for people."""

import json
from dataclasses import dataclass
from html import escape
from http import HTTPStatus

from starlette.datastructures import Headers
from starlette.responses import RedirectResponse, Response
from starlette.types import Receive, Scope, Send


@dataclass(frozen=True, slots=True)
class Refusal:
    """A status and why. `to` is the page that helps, where a person asked for a page."""

    status: int
    detail: str
    to: str | None = None


async def refuse(refusal: Refusal, scope: Scope, receive: Receive, send: Send) -> None:
    """Answer with the refusal."""
    page = "text/html" in Headers(scope=scope).get("accept", "")
    page = page and not scope["path"].startswith("/api/")
    response = _page(refusal) if page else _problem(refusal)
    await response(scope, receive, send)


def _problem(refusal: Refusal) -> Response:
    body = {
        "type": "about:blank",
        "title": HTTPStatus(refusal.status).phrase,
        "status": refusal.status,
        "detail": refusal.detail,
    }
    return Response(json.dumps(body), refusal.status, media_type="application/problem+json")


def _page(refusal: Refusal) -> Response:
    if refusal.to is not None:
        return RedirectResponse(refusal.to, 303)
    body = (
        "<!doctype html><html lang=en><meta charset=utf-8><title>Ringwright</title>"
        f"<h1>{escape(refusal.detail)}</h1>"
        "<p>Open the address that Ringwright printed when it started.</p></html>"
    )
    return Response(body, refusal.status, media_type="text/html")
