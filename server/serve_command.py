"""`ringwright`: bind, open the data, serve until told to stop."""

import sys
from socket import socket

import uvicorn
from starlette.types import ASGIApp

from server.announce import announce
from server.app import create_app
from server.damaged import damaged_app
from server.listening import CannotListen, listen
from server.settings import Settings
from server.store.errors import StoreRefused
from server.store.health import StoreDamaged

_GRACE_SECONDS = 1


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
            )
        )
        self._app = app
        self._settings = settings

    async def startup(self, sockets: list[socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started and sockets:
            announce(self._app, self._settings, sockets[0].getsockname()[1])

    async def shutdown(self, sockets: list[socket] | None = None) -> None:
        hub = getattr(getattr(self._app, "state", None), "hub", None)
        if hub is not None:
            hub.close()
        await super().shutdown(sockets)
