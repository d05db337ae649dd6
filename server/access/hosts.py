"""Which Host names are ours. A name that is not may be an attacker's, pointed at this machine."""

import ipaddress
import socket
from dataclasses import dataclass

_LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
_HTTP_PORT = 80


@dataclass(frozen=True, slots=True)
class HostPort:
    """A host name, lower case and without a trailing dot, and its port."""

    host: str
    port: int


def parse_host(text: str) -> HostPort | None:
    """Read a Host header; None for what is no host."""
    host, port_text = _split(text.strip())
    if not host or (port_text and not (port_text.isascii() and port_text.isdigit())):
        return None
    port = int(port_text) if port_text else _HTTP_PORT
    if port > 65535 or any(character in host for character in "@/\\?#, \t"):
        return None
    return HostPort(host.lower().removesuffix("."), port)


def is_loopback(address: str | None) -> bool:
    """Whether an address is of this very machine's loopback."""
    if not address:
        return False
    try:
        parsed = ipaddress.ip_address(address.split("%")[0])
    except ValueError:
        return False
    mapped = getattr(parsed, "ipv4_mapped", None)
    return (mapped or parsed).is_loopback


def own_names() -> frozenset[str]:
    """What this machine is called on its network, plain and as `.local`."""
    name = socket.gethostname().lower().removesuffix(".")
    short = name.split(".")[0]
    return frozenset({name, short, f"{short}.local"}) - {""}


@dataclass(frozen=True, slots=True)
class AllowedHosts:
    """The names that are answered to. `extra` are the user's own, with or without a port."""

    names: frozenset[str]
    extra: tuple[HostPort, ...] = ()

    def allows(self, asked: HostPort, server: tuple[str, int]) -> bool:
        """Whether a Host is ours, on a connection that came in at `server` (address, port)."""
        for name in self.extra:
            if name.host == asked.host and name.port in (0, asked.port):
                return True
        if asked.port != server[1]:
            return False
        return asked.host in self.names or _same_address(asked.host, server[0])


def allowed_hosts(names: tuple[str, ...] = ()) -> AllowedHosts:
    """Loopback, this machine's own names, and those that the user added."""
    extra = tuple(_extra(name) for name in names)
    return AllowedHosts(_LOOPBACK_NAMES | own_names(), extra)


def _extra(name: str) -> HostPort:
    host, port = _split(name.strip())
    return HostPort(host.lower().removesuffix("."), int(port) if port.isdigit() else 0)


def _split(text: str) -> tuple[str, str]:
    if text.startswith("["):
        host, closed, rest = text[1:].partition("]")
        if not closed or (rest and not rest.startswith(":")):
            return "", ""
        return host, rest[1:]
    host, _, port = text.partition(":")
    return host, port


def _same_address(asked: str, server: str) -> bool:
    try:
        return ipaddress.ip_address(asked) == ipaddress.ip_address(server.split("%")[0])
    except ValueError:
        return False
