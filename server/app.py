"""Builds the app and mounts every room: the only file that knows them all."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module
from importlib.util import find_spec

from fastapi import Depends, FastAPI
from fastapi.staticfiles import StaticFiles

from server.access.guard import Guard
from server.access.headers import SecurityHeaders
from server.access.hosts import allowed_hosts
from server.live.entries import messages_after, newest_seq
from server.live.hub import Hub
from server.paths import STATIC
from server.settings import Settings, program_version
from server.store.opening import open_store
from server.web import floors, problems
from server.web.bodies import LARGEST_BODY, ordinary_json

API = (
    "health",
    "time",
    "pieces",
    "rack",
    "shop",
    "ledger",
    "photos",
    "wood",
    "cutting",
    "schedule",
    "plan",
    "files",
)
ROOMS = (
    "pieces",
    "drawing_board",
    "lumber_rack",
    "saw_bench",
    "glue_bench",
    "lathe",
    "journal",
    "office",
)


def create_app(settings: Settings) -> FastAPI:
    """The whole program as an ASGI app, its database open and brought up to date.

    Raises StoreRefused when the data folder cannot be used as it is.
    """
    store = open_store(settings)
    hub = Hub(lambda seq: messages_after(store, seq), newest_seq(store))

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        yield
        hub.close()
        store.close()

    app = FastAPI(
        title="Ringwright",
        version=program_version(),
        docs_url=None,
        redoc_url=None,
        lifespan=lifespan,
        max_body_size=LARGEST_BODY,
    )
    app.state.settings, app.state.store, app.state.hub = settings, store, hub
    problems.install(app)
    floors.install(app)
    app.add_middleware(Guard, hosts=allowed_hosts(settings.names))
    app.add_middleware(SecurityHeaders)
    _mount(app)
    return app


def _mount(app: FastAPI) -> None:
    for name in API:
        _include(app, f"server.api.{name}", api=True)
    _include(app, "server.web.pages", api=False)
    for room in ROOMS:
        _include(app, f"server.rooms.{room}.pages", api=False)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")


def _include(app: FastAPI, module: str, *, api: bool) -> None:
    if find_spec(module) is None:
        return
    router = import_module(module).router
    if api:
        app.include_router(router, dependencies=[Depends(ordinary_json)])
    else:
        app.include_router(router, include_in_schema=False)
