"""The addresses of this computer on the networks that it is on."""

import ipaddress
import socket
import struct
import sys

_SIOCGIFADDR = 0x8915  # Linux: the IPv4 address of an interface
_IFREQ_BYTES = 40


def private_addresses() -> list[str]:
    """Every private IPv4 address of this computer, without asking the network anything."""
    found = _linux() if sys.platform == "linux" else _by_name()
    return [text for text in dict.fromkeys(found) if _is_private(text)]


def _linux() -> list[str]:
    import fcntl

    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        for _, name in socket.if_nameindex():
            request = struct.pack(f"{_IFREQ_BYTES}s", name.encode()[:15])
            try:
                answer = fcntl.ioctl(asking.fileno(), _SIOCGIFADDR, request)
            except OSError:  # an interface without an address
                continue
            found.append(socket.inet_ntoa(answer[20:24]))
    return found


def _by_name() -> list[str]:
    try:
        return socket.gethostbyname_ex(socket.gethostname())[2]
    except OSError:
        return []


def _is_private(text: str) -> bool:
    address = ipaddress.ip_address(text)
    return address.is_private and not address.is_loopback and not address.is_unspecified
