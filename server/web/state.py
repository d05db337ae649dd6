"""What a handler needs of the running program: the store, the listeners, the time, the device."""

from datetime import UTC, datetime

from fastapi import Request

from server.access.door import Door
from server.access.pairing import Pairing
from server.live.clock import Clock
from server.live.hub import Hub
from server.settings import Settings
from server.store.database import Store
from server.store.keeper import Keeper


def store_of(request: Request) -> Store:
    """The open database."""
    store: Store = request.app.state.store
    return store


def hub_of(request: Request) -> Hub:
    """Who listens; publish to it after the commit."""
    hub: Hub = request.app.state.hub
    return hub


def settings_of(request: Request) -> Settings:
    """What the program was started with."""
    settings: Settings = request.app.state.settings
    return settings


def clock_of(request: Request) -> Clock:
    """The server's clock, which knows when it is wrong."""
    clock: Clock = request.app.state.clock
    return clock


def now_of(request: Request) -> datetime:
    """The server's moment, aware, UTC. Handlers pass it down; nothing deeper asks a clock."""
    return clock_of(request)().astimezone(UTC)


def keeper_of(request: Request) -> Keeper:
    """Who looks after the copies of the database."""
    keeper: Keeper = request.app.state.keeper
    return keeper


def pairing_of(request: Request) -> Pairing:
    """Who lets devices in."""
    pairing: Pairing = request.app.state.pairing
    return pairing


def door_of(request: Request) -> Door:
    """Whether the network is answered."""
    door: Door = request.app.state.door
    return door


def device_of(request: Request) -> str | None:
    """The name of the paired device that speaks; None for this very computer."""
    device: str | None = getattr(request.state, "device", None)
    return device
