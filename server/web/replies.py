"""Replies that are no page: go elsewhere, for a plain form and for an exchange alike."""

from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response


def go_to(request: Request, url: str) -> Response:
    """See other: a 303 for a plain form, an HX-Redirect for an htmx exchange."""
    if request.headers.get("HX-Request") == "true":
        return Response(status_code=204, headers={"HX-Redirect": url})
    return RedirectResponse(url, status_code=303)


def back_to(request: Request, fallback: str = "/") -> str:
    """The page of ours that a form was sent from, for forms that stand on many pages."""
    came = urlsplit(request.headers.get("referer", ""))
    ours = came.netloc and came.netloc == request.headers.get("host")
    path = came.path if ours and came.path.startswith("/") else fallback
    return path if not path.startswith("//") else fallback
