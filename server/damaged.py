"""What is served when the database is not whole: one page that says so, and nothing else."""

from html import escape

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from server.access.headers import SecurityHeaders
from server.settings import program_version
from server.store.health import StoreDamaged

_METHODS = ["GET", "POST", "PUT", "PATCH", "DELETE"]


def damaged_app(damage: StoreDamaged) -> Starlette:
    """An app without a store: every address answers 503 with what happened and what to do."""

    def page(request: Request) -> Response:
        if request.url.path.startswith("/api/"):
            return _problem(damage)
        return HTMLResponse(_page(damage), 503, {"cache-control": "no-store"})

    app = Starlette(routes=[Route("/{path:path}", page, methods=_METHODS)])
    app.add_middleware(SecurityHeaders)
    return app


def _problem(damage: StoreDamaged) -> Response:
    body = {
        "type": "about:blank",
        "title": "Service Unavailable",
        "status": 503,
        "detail": str(damage),
        "version": program_version(),
    }
    return JSONResponse(body, 503, media_type="application/problem+json")


def _page(damage: StoreDamaged) -> str:
    faults = "".join(f"<li>{escape(fault)}</li>" for fault in damage.faults[:5])
    if damage.newest_backup is None:
        mend = "<p>There is no whole copy of it in the folder <code>backups</code> beside it.</p>"
    else:
        mend = (
            f"<p>The newest whole copy is <code>{escape(damage.newest_backup.name)}</code>. "
            "Stop Ringwright and put the copy in its place; the damaged file is kept:</p>"
            f"<p><code>ringwright restore {escape(str(damage.newest_backup))}</code></p>"
        )
    return (
        '<!doctype html><html lang="en"><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        "<title>Ringwright: the database is damaged</title>"
        "<h1>The database is damaged</h1>"
        f"<p><code>{escape(str(damage.path))}</code> was not touched: nothing in it was changed "
        f"or deleted.</p>{mend}<h2>What was found</h2><ul>{faults}</ul></html>"
    )
