"""Fixtures for every test that needs a running shop. The app is imported only when asked for."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient


@pytest.fixture
def app(tmp_path: Path) -> Iterator[FastAPI]:
    """The app over an empty database."""
    from shop_help import shop_app

    made = shop_app(tmp_path / "data")
    yield made
    made.state.store.close()


@pytest.fixture
def client(app: FastAPI) -> Iterator[TestClient]:
    """A client on the server's own computer."""
    from shop_help import loopback_client

    with loopback_client(app) as speaking:
        yield speaking


@pytest.fixture
def piece_id(client: TestClient) -> str:
    """The id of a kept piece with one ring, `r1`, in the part `bowl`."""
    from shop_help import simple_piece

    reply = client.post("/api/pieces", json=simple_piece())
    assert reply.status_code == 201, reply.text
    return str(reply.json()["id"])
