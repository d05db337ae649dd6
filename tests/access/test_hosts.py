"""Which Host names are answered to: the corpus of floor list 31."""

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from own_loop import in_own_loop
from shop_help import loopback_client
from starlette.types import Message

from server.access.hosts import allowed_hosts, is_loopback, own_names, parse_host

PATHS = ("/api/health", "/api/pieces", "/static/css/base.css", "/api/nothing", "/pair")


def status(client: TestClient, host: str, path: str = "/api/health") -> int:
    # As bytes: a client would refuse to send some of these at all.
    return client.get(path, headers={b"host": host.encode("latin-1")}).status_code


@pytest.mark.parametrize(
    "host",
    [
        "127.0.0.1:8377",
        "localhost:8377",
        "LOCALHOST:8377",
        "LocalHost.:8377",
        "[::1]:8377",
        *(f"{name}:8377" for name in sorted(own_names())),
        *(f"{name.upper()}.:8377" for name in sorted(own_names())),
    ],
)
def test_our_own_names_are_answered(client: TestClient, host: str) -> None:
    assert status(client, host) == 200


@pytest.mark.parametrize(
    "host",
    [
        "",
        "evil.example",
        "evil.example:8377",
        "127.0.0.1",
        "127.0.0.1:80",
        "127.0.0.1:8378",
        "localhost",
        "localhost:",
        "localhost:83770",
        "localhost:8377:8377",
        "localhost:+8377",
        "localhost:８３７７".encode().decode("latin-1"),
        "localhost.evil.example:8377",
        "evil-localhost:8377",
        "127.0.0.1.evil.example:8377",
        "evil@127.0.0.1:8377",
        "127.0.0.1:8377@evil.example",
        "127.0.0.1:8377/",
        "127.0.0.1:8377#evil",
        "127.0.0.1:8377?x",
        "127.0.0.1:8377, evil.example",
        "127.0.0.1 evil:8377",
        "[::1",
        "[::1]8377",
        "[::1]evil:8377",
        "[fe80::1%25eth0]:8377",
        "0.0.0.0:8377",
        "192.168.1.20:8377",
        "2130706433:8377",
        "127.1:8377",
        "null",
    ],
)
@pytest.mark.parametrize("path", PATHS)
def test_anybody_elses_are_not(client: TestClient, host: str, path: str) -> None:
    assert status(client, host, path) == 400


def test_no_host_is_none_of_ours(app: FastAPI) -> None:
    """As HTTP/1.0 may ask; no test client leaves the header out."""
    answers: list[int] = []

    async def send(message: Message) -> None:
        if message["type"] == "http.response.start":
            answers.append(message["status"])

    async def receive() -> Message:
        return {"type": "http.request"}

    scope = {
        "type": "http",
        "http_version": "1.0",
        "method": "GET",
        "scheme": "http",
        "path": "/api/health",
        "query_string": b"",
        "headers": [],
        "client": ("127.0.0.1", 5),
        "server": ("127.0.0.1", 8377),
    }
    in_own_loop(lambda: app(scope, receive, send))
    assert answers == [400]


def test_two_hosts_are_one_too_many(client: TestClient) -> None:
    reply = client.get(
        "/api/health", headers=[("host", "127.0.0.1:8377"), ("host", "evil.example")]
    )
    assert reply.status_code == 400


def test_the_refusal_says_what_to_do(client: TestClient) -> None:
    page = client.get("/", headers={"host": "evil.example", "accept": "text/html"})
    assert "Open the address that Ringwright printed" in page.text
    assert "default-src 'self'" in page.headers["content-security-policy"]


def test_a_connection_to_a_lan_address_is_asked_by_it(app: FastAPI) -> None:
    """The address that the connection came in at is this server's own, and no other."""
    with TestClient(app, base_url="http://192.168.1.20:8377", client=("192.168.1.30", 5)) as lan:
        assert lan.get("/api/health").status_code == 200
        assert status(lan, "192.168.1.21:8377") == 400
        assert status(lan, "evil.example:8377") == 400


def test_names_that_the_user_added() -> None:
    hosts = allowed_hosts(("shop.example", "proxy.example:443"))
    asked = {
        "shop.example:8377": True,
        "shop.example": True,
        "proxy.example:443": True,
        "proxy.example:8377": False,
        "other.example:8377": False,
    }
    for text, answer in asked.items():
        host = parse_host(text)
        assert host is not None
        assert hosts.allows(host, ("127.0.0.1", 8377)) is answer


@pytest.mark.parametrize(
    ("address", "answer"),
    [
        ("127.0.0.1", True),
        ("127.8.8.8", True),
        ("::1", True),
        ("::ffff:127.0.0.1", True),
        ("192.168.1.30", False),
        ("::ffff:192.168.1.30", False),
        ("fe80::1%eth0", False),
        ("0.0.0.0", False),
        ("testclient", False),
        ("", False),
        (None, False),
    ],
)
def test_what_is_loopback(address: str | None, answer: bool) -> None:
    assert is_loopback(address) is answer


def test_every_route_is_guarded(app: FastAPI) -> None:
    with loopback_client(app) as client:
        for path in app.openapi()["paths"]:
            address = path.replace("{", "").replace("}", "")
            assert status(client, "evil.example:8377", address) == 400
