"""`ringwright`: bind, open the data, serve until told to stop."""

import errno
import socket
import sys

import uvicorn

from server.app import create_app
from server.settings import EVERY_ADDRESS, LOOPBACK, Settings
from server.store.errors import StoreRefused

_GRACE_SECONDS = 1


def serve(settings: Settings) -> int:
    """Serve until SIGTERM or SIGINT. Returns the exit status."""
    try:
        with bind(settings) as listening:
            app = create_app(settings)
            server = _Server(uvicorn.Config(app, **_config()), settings)
            server.run(sockets=[listening])
    except (StoreRefused, CannotListen) as refusal:
        print(f"ringwright: {refusal}", file=sys.stderr)
        return 1
    return 0


class CannotListen(Exception):  # noqa: N818
    """The address cannot be listened at."""


def bind(settings: Settings) -> socket.socket:
    """A bound socket. Raises CannotListen with the reason and what to do."""
    host = settings.bind_host
    try:
        family = socket.getaddrinfo(host, settings.port, type=socket.SOCK_STREAM)[0][0]
        listening = socket.socket(family)
    except OSError as error:
        raise CannotListen(f"“{host}” is no address of this computer: {error}") from error
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, settings.port))
    except OSError as error:
        listening.close()
        raise CannotListen(_why(error, host, settings.port)) from error
    return listening


def _why(error: OSError, host: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return (
            f"Port {port} is in use, perhaps by another Ringwright. "
            "Stop that one, or choose a port with --port (0 picks a free one)."
        )
    if error.errno == errno.EACCES:
        return f"Port {port} is reserved by the system. Choose one above 1023 with --port."
    return f"Cannot listen at {host} port {port}: {error.strerror}."


def _config() -> dict[str, object]:
    return {
        "log_level": "warning",
        "access_log": False,
        "timeout_graceful_shutdown": _GRACE_SECONDS,
        "server_header": False,
        "lifespan": "on",
    }


class _Server(uvicorn.Server):
    """Says where it can be reached as soon as it really answers, and ends its streams at once."""

    def __init__(self, config: uvicorn.Config, settings: Settings) -> None:
        super().__init__(config)
        self._settings = settings

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started and sockets:
            port = sockets[0].getsockname()[1]
            host = self._settings.bind_host
            host = LOOPBACK if host == EVERY_ADDRESS else host
            shown = f"[{host}]" if ":" in host else host
            print(f"ringwright: http://{shown}:{port}/", flush=True)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self.config.app.state.hub.close()  # type: ignore[union-attr]
        await super().shutdown(sockets)
