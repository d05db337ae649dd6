"""The network is let in for as long as a device uses it, and shut out again otherwise."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from store_help import made_store

from server.access import door as door_module
from server.access.door import SHUT_UNLESS_USED_WITHIN, CannotOpen, Door
from server.access.pairing import Pairing
from server.store.database import Store

ADDRESSES = ["192.168.7.7", "10.1.2.3"]
NOW = datetime(2031, 3, 5, 12, 0, tzinfo=UTC)


class Network:
    """What is answered at; refuses where it is told to."""

    def __init__(self) -> None:
        self.at: list[str] = []
        self.refuses = ""

    def listen(self, address: str) -> Callable[[], None]:
        if address == self.refuses:
            raise CannotOpen("Port 8377 is in use.")
        self.at.append(address)
        return lambda: self.at.remove(address)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    made = made_store(tmp_path)
    yield made
    made.close()


@pytest.fixture
def network(monkeypatch: pytest.MonkeyPatch) -> Network:
    monkeypatch.setattr(door_module, "private_addresses", lambda: ADDRESSES)
    return Network()


def a_start(store: Store, network: Network) -> tuple[Door, Pairing]:
    """Door and pairing of a program that has just begun to answer."""
    pairing = Pairing(store, lambda: NOW)
    door = Door(store, pairing, lambda: NOW)
    door.attach(network.listen)
    return door, pairing


def test_shut_at_first_open_when_asked_and_shut_again_when_nobody_comes(
    store: Store, network: Network
) -> None:
    door, _ = a_start(store, network)
    assert (door.is_open, door.can_open, network.at) == (False, True, [])
    door.open()
    assert network.at == ADDRESSES
    assert door.shut_at == NOW + SHUT_UNLESS_USED_WITHIN == NOW + timedelta(minutes=5)
    door.settle()
    assert (network.at, door.is_open) == ([], False)
    assert not a_start(store, network)[0].is_open


def test_kept_for_later_starts_once_a_device_came_in(store: Store, network: Network) -> None:
    door, pairing = a_start(store, network)
    door.open()
    pairing.redeem(pairing.offer().code, "192.168.7.9", "Tablet")
    door.settle()
    assert network.at == ADDRESSES
    assert door.shut_at is None
    network.at.clear()
    again, _ = a_start(store, network)
    assert (again.is_open, network.at) == (True, ADDRESSES)
    again.settle()
    assert network.at == ADDRESSES, "nothing new was opened, nothing is to be settled"
    again.shut()
    assert network.at == []
    assert not a_start(store, network)[0].is_open


def test_an_address_that_cannot_be_answered_at_is_said_and_nothing_is_left_open(
    store: Store, network: Network
) -> None:
    door, _ = a_start(store, network)
    network.refuses = ADDRESSES[1]
    with pytest.raises(CannotOpen, match="in use"):
        door.open()
    assert (network.at, door.is_open, door.shut_at) == ([], False, None)


def test_without_a_server_that_can_there_is_nothing_to_open(store: Store, network: Network) -> None:
    door = Door(store, Pairing(store, lambda: NOW), lambda: NOW)
    assert not door.can_open
    door.open()
    assert not door.is_open
