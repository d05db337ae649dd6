"""The socket that is listened at, or in plain words why not."""

import errno
import socket

from server.settings import Settings


class CannotListen(Exception):  # noqa: N818
    """The address cannot be listened at; the message says why and what to do."""


def listen(settings: Settings) -> socket.socket:
    """A bound socket. Raises CannotListen."""
    host = settings.bind_host
    try:
        family = socket.getaddrinfo(host, settings.port, type=socket.SOCK_STREAM)[0][0]
    except OSError as error:
        raise CannotListen(f"“{host}” is no address of this computer: {error.strerror}.") from error
    listening = socket.socket(family)
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
