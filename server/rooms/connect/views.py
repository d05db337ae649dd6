"""What the pages of this room show."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from server.access.addresses import private_addresses
from server.access.hosts import own_names
from server.access.pairing import Offer

# The page draws the picture some 320 px wide, so a module is well over the 4 px that a phone's
# camera wants from a screen; around it the quiet zone of four modules (ISO/IEC 18004).
_QUIET_ZONE = 4


@dataclass(frozen=True, slots=True)
class Address:
    """One way to this server: what to type, and the same with the token as a picture."""

    url: str
    qr: Markup


def addresses(port: int, offer: Offer) -> list[Address]:
    """Each private address of this computer."""
    return [_address(host, port, offer) for host in private_addresses()]


def local_name(port: int) -> str | None:
    """The `.local` address, which many but not all devices can find."""
    name = next((name for name in sorted(own_names()) if name.endswith(".local")), None)
    return None if name is None else f"http://{name}:{port}/"


def pairing_url(host: str, port: int, offer: Offer) -> str:
    """What the picture holds: the page for the code, with the token filled in."""
    return f"http://{host}:{port}/pair?token={offer.token}"


def grouped(code: str) -> str:
    """A code as it is read aloud: 123 456."""
    return f"{code[:3]} {code[3:]}"


def guessed_name(
    agent: str,
    known: Sequence[tuple[str, str]] = (
        ("iPad", "iPad"),
        ("iPhone", "iPhone"),
        ("Android", "Android device"),
        ("Macintosh", "Mac"),
        ("Windows", "Windows computer"),
        ("Linux", "Linux computer"),
    ),
) -> str:
    """What to call a device before somebody gives it a name."""
    return next((name for sign, name in known if sign in agent), "Device")


def _address(host: str, port: int, offer: Offer) -> Address:
    import segno

    picture = segno.make(pairing_url(host, port, offer), error="m", micro=False).svg_inline(
        border=_QUIET_ZONE, dark="black", light="white", omitsize=True
    )
    return Address(f"http://{host}:{port}/", Markup(picture))
