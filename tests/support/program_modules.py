"""Reading this reads every module of the program that serving needs."""

from importlib import import_module

import server.serve_command  # noqa: F401
from server.app import API, ROOMS

for name in (
    *(f"server.api.{name}" for name in API),
    *(f"server.rooms.{name}.pages" for name in ROOMS),
    "server.store.migrate",
    "alembic.runtime.environment",
    "sqlalchemy.dialects.sqlite.pysqlite",
    "uvicorn.loops.auto",
    "uvicorn.protocols.http.auto",
    "uvicorn.protocols.websockets.auto",
    "uvicorn.lifespan.on",
):
    import_module(name)
