"""Reading this reads every module of the program that serving needs, and makes its routes."""

from importlib import import_module

import server.serve_command  # noqa: F401
from server.app import API, API_AT_ONCE, ROOMS, ROOMS_AT_ONCE, routes_of

routes_of(API_AT_ONCE, ROOMS_AT_ONCE)
routes_of(API, ROOMS)
for name in (
    "server.store.migrate",
    "alembic.runtime.environment",
    "sqlalchemy.dialects.sqlite.pysqlite",
    "uvicorn.loops.auto",
    "uvicorn.protocols.http.auto",
    "uvicorn.protocols.websockets.auto",
    "uvicorn.lifespan.on",
):
    import_module(name)
