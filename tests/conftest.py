"""Fixtures for every test that needs a running shop."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from shop_help import loopback_client, shop_app, simple_piece


@pytest.fixture
def app(tmp_path: Path) -> FastAPI:
    """The app over an empty database."""
    return shop_app(tmp_path / "data")


@pytest.fixture
def client(app: FastAPI) -> Iterator[TestClient]:
    """A client on the server's own computer."""
    with loopback_client(app) as speaking:
        yield speaking


@pytest.fixture
def piece_id(client: TestClient) -> str:
    """The id of a kept piece with one ring, `r1`, in the part `bowl`."""
    reply = client.post("/api/pieces", json=simple_piece())
    assert reply.status_code == 201, reply.text
    return str(reply.json()["id"])
