"""A kept beaker of four rings, and a hand that fills the board's forms in."""

from collections.abc import Callable
from typing import Any

import httpx
import pytest
from fastapi.testclient import TestClient
from piece_makers import beaker

Change = Callable[..., httpx.Response]


@pytest.fixture
def board_id(client: TestClient) -> str:
    reply = client.post("/api/pieces", json=beaker(4, name="Beaker", display_units="mm"))
    assert reply.status_code == 201, reply.text
    return str(reply.json()["id"])


@pytest.fixture
def change(client: TestClient, board_id: str) -> Change:
    """Post an act with the newest revision, as the page does through htmx."""

    def post(act: str, **fields: Any) -> Any:
        revision = client.get(f"/api/pieces/{board_id}").json()["revision"]
        data = {"revision": str(revision)} | {k.replace("__", "-"): v for k, v in fields.items()}
        return client.post(
            f"/pieces/{board_id}/drawing-board/{act}", data=data, headers={"HX-Request": "true"}
        )

    return post


@pytest.fixture
def drawn(client: TestClient, board_id: str) -> Callable[[], dict[str, Any]]:
    """The newest document."""

    def get() -> dict[str, Any]:
        document: dict[str, Any] = client.get(f"/api/pieces/{board_id}").json()["piece"]
        return document

    return get
