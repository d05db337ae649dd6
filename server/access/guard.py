"""The guard at the door: Host first, then Origin, then pairing. It sees every request."""

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from server.access.hosts import AllowedHosts, HostPort, is_loopback, parse_host
from server.access.refusals import Refusal, refuse

_SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Refuses what does not come from our own pages or this very machine."""

    def __init__(self, app: ASGIApp, hosts: AllowedHosts) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on."""
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
        if scope.get("method", "GET") in _SAFE_METHODS:
            return None
        return _check_origin(scope, headers, asked)

    def _host(self, scope: Scope, headers: Headers) -> HostPort | None:
        said = headers.getlist("host")
        asked = parse_host(said[0]) if len(said) == 1 else None
        server = scope.get("server") or ("", 0)
        if asked is None or not self.hosts.allows(asked, (server[0], server[1] or 0)):
            return None
        return asked


def _check_origin(scope: Scope, headers: Headers, asked: HostPort) -> Refusal | None:
    origins = headers.getlist("origin")
    if not origins:
        client = scope.get("client")
        if client is not None and is_loopback(client[0]):
            return None
        return Refusal(403, "Only this server's own pages may change anything here.")
    scheme, _, rest = origins[0].partition("://")
    same = len(origins) == 1 and scheme == scope.get("scheme", "http")
    if same and parse_host(rest) == asked:
        return None
    return Refusal(403, "Only this server's own pages may change anything here.")
