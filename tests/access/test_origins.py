"""Unsafe methods come from our own pages, or from this very computer without a page."""

from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from shop_help import ADDRESS, simple_piece

METHODS = ("POST", "PUT", "DELETE", "PATCH")


def ask(client: TestClient, origin: str | None, method: str = "POST", **more: Any) -> int:
    headers = {} if origin is None else {"origin": origin}
    return client.request(method, "/api/rack", headers=headers, json={}, **more).status_code


@pytest.mark.parametrize(
    "origin", [None, ADDRESS, "http://127.0.0.1:8377", ADDRESS.upper()[:4].lower() + ADDRESS[4:]]
)
def test_our_own_pages_may_write(client: TestClient, origin: str | None) -> None:
    assert ask(client, origin) == 422  # past the guard: the empty board is refused
    made = client.post("/api/pieces", json=simple_piece(), headers={"origin": ADDRESS})
    assert made.status_code == 201


FOREIGN = [
    "null",
    "",
    "http://evil.example",
    "http://127.0.0.1",
    "http://127.0.0.1:8378",
    "https://127.0.0.1:8377",
    "http://localhost:8377",  # ours, but not the host that this request speaks to
    "http://127.0.0.1:8377.evil.example",
    "http://evil.example:8377",
    "http://evil@127.0.0.1:8377",
    "http://127.0.0.1:8377/path",
    "127.0.0.1:8377",
    "file://",
    "chrome-extension://abcdef",
]


@pytest.mark.parametrize("origin", FOREIGN)
@pytest.mark.parametrize("method", METHODS)
def test_foreign_pages_may_not(client: TestClient, origin: str, method: str) -> None:
    assert ask(client, origin, method) == 403


def test_two_origins_are_one_too_many(client: TestClient) -> None:
    reply = client.post("/api/rack", headers=[("origin", ADDRESS), ("origin", ADDRESS)])
    assert reply.status_code == 403


def test_reading_is_free_of_it(client: TestClient) -> None:
    assert client.get("/api/pieces", headers={"origin": "http://evil.example"}).status_code == 200


def test_it_needs_no_fetch_metadata_and_is_not_fooled_by_it(client: TestClient) -> None:
    friendly = {"origin": "http://evil.example", "sec-fetch-site": "same-origin"}
    assert client.post("/api/rack", headers=friendly, json={}).status_code == 403


def test_form_posts_are_guarded_too(client: TestClient) -> None:
    for path in ("/look", "/pair", "/connect/devices/x/revoke"):
        assert client.post(path, headers={"origin": "http://evil.example"}).status_code == 403


def _gets(app: FastAPI) -> list[str]:
    return [
        path
        for path, verbs in app.openapi()["paths"].items()
        if "get" in verbs and path != "/api/live"
    ]


def test_asking_changes_nothing(client: TestClient, app: FastAPI, piece_id: str) -> None:
    """Every GET of the API, and the pages that need no more than a piece."""
    store = app.state.store
    before = store.path.read_bytes()
    for path in _gets(app):
        address = path.replace("{piece_id}", piece_id).replace("{revision}", "1")
        client.get(address.replace("{", "").replace("}", ""))
    for path in ("/", "/pieces", "/connect", "/pair?token=x", "/lumber-rack", "/office"):
        client.get(path, headers={"accept": "text/html"})
    assert store.path.read_bytes() == before
