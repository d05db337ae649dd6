"""The pages for letting tablets and phones in."""

from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request, Response
from fastapi.responses import RedirectResponse

from server.access.door import CannotOpen
from server.access.hosts import is_loopback
from server.access.pairing import COOKIE, COOKIE_SECONDS, TooSoon, WrongCode
from server.rooms.connect.views import addresses, grouped, guessed_name, local_name
from server.web.fields import Fields, FormText
from server.web.frame import frame
from server.web.replies import go_to
from server.web.state import device_of, door_of, pairing_of, settings_of
from server.web.templates import render

router = APIRouter()

_LONGEST_NAME = 60


@router.get("/connect")
def connect(request: Request) -> Response:
    """Addresses with a picture to scan, the code, and the devices that are in."""
    return _connect_page(request)


def _connect_page(request: Request, failure: str = "", status: int = 200) -> Response:
    door = door_of(request)
    pairing, settings = pairing_of(request), settings_of(request)
    offer = pairing.offer()
    port = (request.scope.get("server") or ("", settings.port))[1]
    wide = not is_loopback(settings.bind_host) and settings.bind_host != "localhost"
    reachable = wide or door.is_open
    context = {
        "frame": frame(request, place="office", heading="Connect a tablet or phone"),
        "reachable": reachable,
        "may_open": door.can_open and device_of(request) is None,
        "may_shut": door.is_open and device_of(request) is None,
        "shut_at": door.shut_at.astimezone() if door.shut_at else None,
        "failure": failure,
        "addresses": addresses(port, offer) if reachable else [],
        "local_name": local_name(port),
        "code": grouped(offer.code),
        "devices": pairing.devices(),
    }
    headers = {"cache-control": "no-store"}
    return render(request, "connect/page.html", context, status, headers=headers)


@router.post("/connect/open")
def open_door(request: Request) -> Response:
    """Answer tablets and phones from now on; shut again if none comes in."""
    _assert_here(request)
    try:
        door_of(request).open()
    except CannotOpen as error:
        return _connect_page(request, str(error), 503)
    return go_to(request, "/connect")


@router.post("/connect/shut")
def shut_door(request: Request) -> Response:
    """Answer this computer only."""
    _assert_here(request)
    door_of(request).shut()
    return go_to(request, "/connect")


def _assert_here(request: Request) -> None:
    if device_of(request) is not None:
        raise HTTPException(403, "Only the computer that Ringwright runs on may do that.")


@router.post("/connect/devices/{device_id}/revoke")
def revoke(request: Request, device_id: str) -> Response:
    """Shut a device out."""
    pairing_of(request).revoke(device_id)
    return go_to(request, "/connect")


@router.get("/pair")
def pair_page(request: Request, token: Annotated[str, Query(max_length=200)] = "") -> Response:
    """Where a device enters the code, or confirms what it scanned."""
    if pairing_of(request).device_of(request.cookies.get(COOKIE)):
        return RedirectResponse("/", 303)
    return _pair_page(request, token=token)


@router.post("/pair")
def pair(request: Request, form: FormText) -> Response:
    """Let the device in for the right code or token."""
    fields = Fields(form)
    token = fields.text("token", required=False)
    said = token or fields.text("code", required=False)
    name = fields.text("name", required=False, longest=_LONGEST_NAME)
    name = name or guessed_name(request.headers.get("user-agent", ""))
    caller = request.client.host if request.client else ""
    try:
        _, secret = pairing_of(request).redeem(said, caller, name)
    except WrongCode as wrong:
        return _pair_page(request, message=str(wrong), status=422)
    except TooSoon as soon:
        reply = _pair_page(request, message=str(soon), status=429)
        reply.headers["retry-after"] = str(round(soon.wait.total_seconds()) + 1)
        return reply
    reply = RedirectResponse("/", 303)
    reply.set_cookie(
        COOKIE,
        secret,
        max_age=COOKIE_SECONDS,
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
    )
    return reply


def _pair_page(
    request: Request, token: str = "", message: str | None = None, status: int = 200
) -> Response:
    context = {
        "token": token,
        "message": message,
        "name": guessed_name(request.headers.get("user-agent", "")),
    }
    return render(
        request, "connect/pair.html", context, status, headers={"cache-control": "no-store"}
    )
