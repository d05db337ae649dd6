"""What the terminal shows once the server answers: its address, and codes to scan for the LAN."""

import sys
from typing import Any

from server.access.addresses import private_addresses
from server.access.hosts import own_names
from server.access.pairing import Offer, Pairing
from server.settings import EVERY_ADDRESS, LOOPBACK, Settings
from server.store import marks
from server.store.database import Store

LAN_ADDRESSES = "lan_addresses"


def announce(app: Any, settings: Settings, port: int) -> None:
    """Print, and flush, the address; where the network is answered each address with its code."""
    host = LOOPBACK if settings.bind_host == EVERY_ADDRESS else settings.bind_host
    shown = f"[{host}]" if ":" in host else host
    print(f"ringwright: http://{shown}:{port}/", flush=True)
    pairing: Pairing | None = getattr(getattr(app, "state", None), "pairing", None)
    if pairing is not None and (settings.lan or app.state.door.is_open):
        _announce_lan(pairing.offer(), app.state.store, port)


def _announce_lan(offer: Offer, store: Store, port: int) -> None:
    addresses = private_addresses()
    if not addresses:
        print("\nThis computer is on no private network: no tablet or phone can reach it.")
    if _moved(store, addresses):
        print(
            "\nThe address is another one than last time. Scan again, and let the router keep it."
        )
    for address in addresses:
        print(f"\nOn the same Wi-Fi, not a guest network: http://{address}:{port}/")
        _print_code(f"http://{address}:{port}/pair?token={offer.token}")
    names = [name for name in sorted(own_names()) if name.endswith(".local")]
    if names and addresses:
        print(f"Some devices also find http://{names[0]}:{port}/")
    print(f"Code to type there: {offer.code[:3]} {offer.code[3:]} (one device, ten minutes)")
    print(f"Later ones: http://{LOOPBACK}:{port}/connect", flush=True)


def _print_code(text: str) -> None:
    # Only where the network is answered; most starts print no code.
    import segno

    try:
        segno.make(text, error="l", micro=False).terminal(out=sys.stdout, compact=True)
    except UnicodeEncodeError:  # a terminal that cannot draw blocks; the address is above
        print("(this terminal cannot show the code to scan)")


def _moved(store: Store, addresses: list[str]) -> bool:
    """Whether the addresses are others than at the last start; remembers them."""
    now = " ".join(sorted(addresses))
    with store.write() as session:
        before = marks.read_mark(session, LAN_ADDRESSES)
        marks.set_mark(session, LAN_ADDRESSES, now)
    return before is not None and before != now
