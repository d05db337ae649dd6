"""`ringwright`: bind, open the data, serve until told to stop."""

import asyncio
import gc
import sys
from collections.abc import Callable
from dataclasses import replace
from socket import socket

import uvicorn
from starlette.types import ASGIApp

from server.access.door import CannotOpen
from server.announce import announce
from server.app import Program, create_app
from server.damaged import damaged_app
from server.listening import CannotListen, listen
from server.settings import LOOPBACK, Settings
from server.store.errors import StoreRefused
from server.store.health import StoreDamaged

_GRACE_SECONDS = 1
_KEPT_OPEN_SECONDS = 30
"""Longer than the few seconds after which a page asks again, so that it needs no new connection."""
_FURTHER_WITHIN_SECONDS = 10


def serve(settings: Settings) -> int:
    """Serve until SIGTERM or SIGINT. Returns the exit status."""
    try:
        with listen(settings) as listening:
            _Server(_app(settings), settings).run(sockets=[listening])
    except (StoreRefused, CannotListen) as refusal:
        print(f"ringwright: {refusal}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:  # Ctrl-C is how most people end it; all is closed by now
        return 0
    return 0


def _app(settings: Settings) -> ASGIApp:
    try:
        return create_app(settings)
    except StoreDamaged as damage:
        print(f"ringwright: {damage}", file=sys.stderr)
        return damaged_app(damage)


class _Server(uvicorn.Server):
    """Says where it can be reached as soon as it really answers, and ends its streams at once."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        super().__init__(
            uvicorn.Config(
                app,
                log_level="warning",
                access_log=False,
                server_header=False,
                timeout_graceful_shutdown=_GRACE_SECONDS,
                timeout_keep_alive=_KEPT_OPEN_SECONDS,
            )
        )
        self._app = app
        self._settings = settings

    async def startup(self, sockets: list[socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started and sockets:
            port = sockets[0].getsockname()[1]
            door = getattr(getattr(self._app, "state", None), "door", None)
            if door is not None and self._settings.bind_host == LOOPBACK:
                await asyncio.to_thread(door.attach, self._further(port))
            announce(self._app, self._settings, port)
            self._reading = asyncio.create_task(asyncio.to_thread(self._read_the_rest))

    def _read_the_rest(self) -> None:
        if isinstance(self._app, Program):
            self._app.later.read()
        gc.freeze()
        gc.enable()

    def _further(self, port: int) -> Callable[[str], Callable[[], None]]:
        """How another thread lets this server answer at a further address, and ends that."""
        loop = asyncio.get_running_loop()

        def answer_at(address: str) -> Callable[[], None]:
            try:
                bound = listen(replace(self._settings, host=address, port=port))
            except CannotListen as refusal:
                raise CannotOpen(str(refusal)) from refusal
            serving = asyncio.run_coroutine_threadsafe(self._serve_at(bound), loop)
            server = serving.result(_FURTHER_WITHIN_SECONDS)

            def end() -> None:
                if not loop.is_closed():
                    loop.call_soon_threadsafe(server.close)

            return end

        return answer_at

    async def _serve_at(self, bound: socket) -> asyncio.Server:
        def protocol() -> asyncio.Protocol:
            made: asyncio.Protocol = self.config.http_protocol_class(  # type: ignore[call-arg]
                config=self.config,
                server_state=self.server_state,
                app_state=self.lifespan.state,
            )
            return made

        loop = asyncio.get_running_loop()
        server = await loop.create_server(protocol, sock=bound, backlog=self.config.backlog)
        self.servers.append(server)
        return server

    async def shutdown(self, sockets: list[socket] | None = None) -> None:
        hub = getattr(getattr(self._app, "state", None), "hub", None)
        if hub is not None:
            hub.close()
        await super().shutdown(sockets)
