"""What every reply tells the browser, and what the program never asks of the network."""

import socket

import pytest
from fastapi.testclient import TestClient
from shop_help import simple_piece

from server.access.headers import CONTENT_POLICY


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/"),
        ("GET", "/pair"),
        ("GET", "/connect"),
        ("GET", "/static/css/base.css"),
        ("GET", "/no/such/place"),
        ("GET", "/api/health"),
        ("POST", "/api/pieces"),
        ("POST", "/api/ledger"),
    ],
)
def test_every_reply_carries_the_headers(client: TestClient, method: str, path: str) -> None:
    content = b" " * (1024 * 1024 + 1) if path == "/api/ledger" else None
    reply = client.request(
        method, path, content=content, headers={"content-type": "application/json"}
    )
    assert reply.headers["content-security-policy"] == CONTENT_POLICY
    assert reply.headers["x-content-type-options"] == "nosniff"
    assert reply.headers["x-frame-options"] == "DENY"
    assert reply.headers["referrer-policy"] == "same-origin"


def test_the_policy_lets_nothing_in_from_elsewhere() -> None:
    policy = dict(part.split(" ", 1) for part in CONTENT_POLICY.split("; "))
    assert policy["default-src"] == "'self'"
    assert policy["frame-ancestors"] == "'none'"
    assert policy["base-uri"] == policy["form-action"] == "'self'"
    assert "unsafe" not in CONTENT_POLICY
    assert "http" not in CONTENT_POLICY


@pytest.mark.parametrize(
    "path",
    [
        "../pyproject.toml",
        "..%2fpyproject.toml",
        "%2e%2e/pyproject.toml",
        "css/..%2f..%2fpyproject.toml",
        "css/%00",
        "/etc/passwd",
        "//etc/passwd",
        "..\\pyproject.toml",
        "....//pyproject.toml",
        "%252e%252e%252fpyproject.toml",
    ],
)
def test_no_file_outside_the_folder_is_shown(client: TestClient, path: str) -> None:
    request = client.build_request("GET", "/")
    request.url = request.url.copy_with(raw_path=f"/static/{path}".encode())
    reply = client.send(request)
    assert reply.status_code == 404
    assert b"ringwright" not in reply.content.lower() or b"[project]" not in reply.content


def test_no_connection_is_opened(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keeping, planning, showing: nothing asks the network for anything."""
    asked: list[object] = []

    def refuse(*what: object, **_: object) -> None:
        asked.append(what)
        raise OSError("no network in this shop")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket.socket, "connect_ex", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    made = client.post("/api/pieces", json=simple_piece())
    client.get(f"/api/pieces/{made.json()['id']}/plan")
    for path in ("/", "/connect", "/api/wood/species", "/api/glues", "/openapi.json"):
        client.get(path)
    assert asked == []
