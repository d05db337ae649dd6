"""Pages of the frame itself: the timers strip, a device's look, every element on one sheet."""

from fastapi import APIRouter, Request, Response

from server.store.opening import believe_clock
from server.web.fields import Fields, FormText
from server.web.frame import (
    SIZE_COOKIE,
    SIZES,
    THEME_COOKIE,
    THEMES,
    next_line,
    running_timers,
    server_now,
)
from server.web.replies import back_to, go_to
from server.web.state import clock_of, store_of
from server.web.states import state_context
from server.web.templates import render

router = APIRouter(include_in_schema=False)
CLOCK_IS_RIGHT = "/clock/right"
_YEAR_S = 365 * 24 * 3600


@router.get("/parts/timers")
def timers(request: Request) -> Response:
    """The strip of running timers, asked for again whenever the ledger grows."""
    running = running_timers(request, server_now(request))
    return render(request, "parts/_timers.html", {"timers": running})


@router.get("/parts/next")
def next_thing(request: Request, piece: str | None = None) -> Response:
    """The line that says what to do now, asked for again whenever the ledger grows."""
    line = next_line(request, piece, server_now(request))
    return render(request, "parts/_next.html", {"line": line})


@router.post("/look")
def look(request: Request, form: FormText) -> Response:
    """Keep paper and size of this device in its cookies."""
    fields = Fields(form)
    reply = go_to(request, back_to(request))
    if "theme" in fields.typed:
        theme = fields.choice("theme", ("device", *THEMES))
        reply.set_cookie(
            THEME_COOKIE, "" if theme == "device" else theme, max_age=_YEAR_S, samesite="lax"
        )
    if "size" in fields.typed:
        reply.set_cookie(SIZE_COOKIE, fields.choice("size", SIZES), max_age=_YEAR_S, samesite="lax")
    return reply


@router.post(CLOCK_IS_RIGHT)
def clock_is_right(request: Request) -> Response:
    """Somebody looked at the server's clock: times run by it again, also after a restart."""
    clock = clock_of(request)
    clock.believe()
    believe_clock(store_of(request), clock())
    return go_to(request, back_to(request))


@router.get("/states")
def states(request: Request) -> Response:
    """Every element of the interface on one sheet, for those who build it."""
    return render(request, "states.html", state_context(request))
