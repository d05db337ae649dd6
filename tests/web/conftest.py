"""A small app of the frame alone, so that the web layer is tested without rooms and store."""

from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from starlette.staticfiles import StaticFiles
from starlette.testclient import TestClient

from server.paths import STATIC
from server.web import pages


@pytest.fixture
def frame_app() -> FastAPI:
    app = FastAPI()
    app.mount("/static", StaticFiles(directory=STATIC))
    app.include_router(pages.router)
    return app


@pytest.fixture
def frame_client(frame_app: FastAPI) -> Iterator[TestClient]:
    with TestClient(frame_app) as client:
        yield client
