"""Rooms that are read after the address was printed, or when somebody goes there sooner."""

import threading
from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import URLPath
from starlette.routing import BaseRoute, Match, NoMatchFound
from starlette.types import ASGIApp, Receive, Scope, Send


class Later(BaseRoute):
    """Takes whatever the routes before it leave, until `mount` has added those after it."""

    def __init__(self, routes: ASGIApp, mount: Callable[[], None]) -> None:
        self._routes = routes
        self._mount = mount
        self._lock = threading.Lock()
        self._mounted = False

    def read(self) -> None:
        """Add the routes, once; who comes meanwhile waits until they are there."""
        with self._lock:
            if not self._mounted:
                self._mount()
                self._mounted = True

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Everything that is asked for, until the routes are there."""
        waits = scope["type"] == "http" and not self._mounted
        return (Match.FULL if waits else Match.NONE), {}

    def url_path_for(self, name: str, /, **path_params: object) -> URLPath:
        """No address leads here by name."""
        raise NoMatchFound(name, path_params)

    async def handle(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer as if all routes had been there from the start."""
        await run_in_threadpool(self.read)
        await self._routes(scope, receive, send)
