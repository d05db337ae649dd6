"""Builds the app and mounts every room: the only file that knows them all."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from importlib import import_module
from typing import Any

from fastapi import APIRouter, Depends, FastAPI
from fastapi.staticfiles import StaticFiles
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.routing import BaseRoute

from server.access.door import Door
from server.access.guard import Guard
from server.access.headers import SecurityHeaders
from server.access.hosts import allowed_hosts
from server.access.pairing import Pairing
from server.api.replies import refusals
from server.later import Later
from server.live.clock import Clock
from server.live.entries import messages_after, newest_seq
from server.live.hub import Hub
from server.paths import STATIC
from server.settings import Settings, program_version
from server.store.keeper import Keeper
from server.store.opening import close_store, last_seen, open_store
from server.web import floors, frame, pages, problems, stock
from server.web.bodies import LARGEST_BODY, TooLargeInWords, ordinary_json

API_AT_ONCE = ("time", "ledger", "health")
API = (
    "pieces",
    "photos",
    "rack",
    "shop",
    "backups",
    "wood",
    "cutting",
    "schedule",
    "plan",
    "files",
)
ROOMS_AT_ONCE = ("glue_bench", "pieces")
"""Where ticks are made, and the home page: an open device asks for these as soon as it can."""
ROOMS = (
    "drawing_board",
    "lumber_rack",
    "saw_bench",
    "gluing_schedule",
    "lathe",
    "journal",
    "office",
    "connect",
)


class Program(FastAPI):
    """The app; `later` is what has not been read when it begins to answer."""

    later: Later

    def openapi(self) -> dict[str, Any]:
        """The description of the whole API."""
        self.later.read()
        return super().openapi()


def create_app(settings: Settings) -> Program:
    """The whole program as an ASGI app, its database open and brought up to date.

    Rooms that were not read yet are read when they are asked for, or by `later.read()`.
    Raises StoreRefused when the data folder cannot be used as it is.
    """
    store = open_store(settings)
    clock = Clock(last_seen(store))
    hub = Hub(lambda seq: messages_after(store, seq), newest_seq(store))
    keeper = Keeper(store, clock)
    pairing = Pairing(store, clock)
    door = Door(store, pairing, clock)

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        keeper.start()
        yield
        hub.close()
        keeper.stop()
        door.settle()
        close_store(store, clock())

    app = Program(
        title="Ringwright",
        version=program_version(),
        docs_url=None,
        redoc_url=None,
        lifespan=lifespan,
    )
    app.state.settings, app.state.store, app.state.hub = settings, store, hub
    app.state.clock, app.state.keeper, app.state.pairing = clock, keeper, pairing
    app.state.door = door
    app.state.warnings = lambda place: _warnings(clock, keeper, place)
    floors.install(app)
    stock.install(app)
    problems.install(app)
    # The last one added stands outermost.
    app.add_middleware(RequestBodyLimitMiddleware, max_body_size=LARGEST_BODY)
    app.add_middleware(TooLargeInWords)
    app.add_middleware(Guard, hosts=allowed_hosts(settings.names), pairing=pairing)
    app.add_middleware(SecurityHeaders)
    _mount(app)
    return app


def _warnings(clock: Clock, keeper: Keeper, place: str) -> list[frame.Notice]:
    """What every page says of the server's clock, and the home page of the copies."""
    copies = keeper.state().warning if place == "pieces" else None
    # That the clock is behind is told by the devices, which ask for it every few seconds.
    told = None if clock.held else clock.words()
    found = [frame.Notice(told, "The clock is right", pages.CLOCK_IS_RIGHT)] if told else []
    return [*found, frame.Notice(copies)] if copies else found


def _mount(app: Program) -> None:
    # Routes are tried in turn: what every device asks for at each tick stands first.
    app.router.routes += routes_of(API_AT_ONCE, ROOMS_AT_ONCE)
    app.include_router(pages.router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.later = Later(app.router, lambda: app.router.routes.extend(routes_of(API, ROOMS)))
    app.router.routes.append(app.later)


@cache
def routes_of(api: tuple[str, ...], rooms: tuple[str, ...]) -> list[BaseRoute]:
    """What these modules answer; they keep nothing of an app, so that all apps may share them."""
    both = APIRouter()
    for room in rooms:
        router = import_module(f"server.rooms.{room}.pages").router
        both.include_router(router, include_in_schema=False)
    for name in api:
        router = import_module(f"server.api.{name}").router
        both.include_router(router, dependencies=[Depends(ordinary_json)], responses=refusals())
    return both.routes
