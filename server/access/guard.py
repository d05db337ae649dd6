"""The guard at the door: Host first, then Origin, then pairing. It sees every request."""

from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from server.access.hosts import AllowedHosts, HostPort, is_loopback, parse_host
from server.access.pairing import COOKIE, Pairing
from server.access.refusals import Refusal, refuse

PAIRING_PAGE = "/pair"
_SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
# What a device sees before it is let in: the page for the code, its look, and that we are here.
_OPEN_TO_ALL = (PAIRING_PAGE, "/api/health")
_LOOKS = "/static/"


class Guard:
    """Refuses what does not come from our own pages, this very machine, or a paired device."""

    def __init__(self, app: ASGIApp, hosts: AllowedHosts, pairing: Pairing) -> None:
        self.app = app
        self.hosts = hosts
        self.pairing = pairing

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on with the device's name at `state.device`."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        refusal = self._check(scope)
        if refusal is None:
            await self.app(scope, receive, send)
        else:
            await refuse(refusal, scope, receive, send)

    def _check(self, scope: Scope) -> Refusal | None:
        headers = Headers(scope=scope)
        asked = self._host(scope, headers)
        if asked is None:
            return Refusal(400, "This address is not one of this server's own.")
        if scope.get("method", "GET") not in _SAFE_METHODS:
            refusal = _check_origin(scope, headers, asked)
            if refusal is not None:
                return refusal
        return self._check_pairing(scope, headers)

    def _host(self, scope: Scope, headers: Headers) -> HostPort | None:
        said = headers.getlist("host")
        asked = parse_host(said[0]) if len(said) == 1 else None
        server = scope.get("server") or ("", 0)
        if asked is None or not self.hosts.allows(asked, (server[0], server[1] or 0)):
            return None
        return asked

    def _check_pairing(self, scope: Scope, headers: Headers) -> Refusal | None:
        device = self.pairing.device_of(_secret(headers))
        scope.setdefault("state", {})["device"] = device.name if device else None
        if _from_loopback(scope):
            return None
        if device is not None:
            self.pairing.heard()
            return None
        path: str = scope["path"]
        if path in _OPEN_TO_ALL or path.startswith(_LOOKS):
            return None
        return Refusal(401, "This device is not paired with the server yet.", to=PAIRING_PAGE)


def _check_origin(scope: Scope, headers: Headers, asked: HostPort) -> Refusal | None:
    origins = headers.getlist("origin")
    if not origins and _from_loopback(scope):
        return None
    if len(origins) == 1:
        scheme, separator, rest = origins[0].partition("://")
        if separator and scheme == scope.get("scheme", "http") and parse_host(rest) == asked:
            return None
    return Refusal(403, "Only this server's own pages may change anything here.")


def _from_loopback(scope: Scope) -> bool:
    client = scope.get("client")
    return client is not None and is_loopback(client[0])


def _secret(headers: Headers) -> str | None:
    cookies: SimpleCookie = SimpleCookie()
    try:
        cookies.load("; ".join(headers.getlist("cookie")))
    except CookieError:
        return None
    morsel = cookies.get(COOKIE)
    return None if morsel is None else morsel.value
