"""Bodies that are no JSON, or too much of it: a plain refusal, never a fault of ours."""

import json
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient
from shop_help import simple_piece

JSON = {"content-type": "application/json"}
FORM = {"content-type": "application/x-www-form-urlencoded"}
POSTS = ("/api/pieces", "/api/rack", "/api/ledger", "/api/plan", "/api/cutting")
MIB = 1024 * 1024


@pytest.mark.parametrize("address", POSTS)
@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b'{"name": "half a pie',
        b"\xff\xfe\x00{",
        b"\x00" * 100,
        b"nul",
        b"[" * 100_000,
        b'{"a":' * 100_000,
        b"[" * 100_000 + b"]" * 100_000,
        b'{"extra":' * 5_000 + b"1" + b"}" * 5_000,
        b'{"a": ' + b"9" * 5000 + b"}",
        b"[]",
        b'"text"',
        b"7",
        b"null",
        b"true",
    ],
)
def test_what_is_no_object_is_refused(client: TestClient, address: str, body: bytes) -> None:
    reply = client.post(address, content=body, headers=JSON)
    assert reply.status_code in (400, 422)
    assert reply.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    "literal",
    [
        "NaN",
        "Infinity",
        "-Infinity",
        "1e999",
        "-1e999",
        "9" * 400,
        "123456789012345678901234567890",
    ],
)
@pytest.mark.parametrize("place", ["thickness_mm", "extra"])
def test_what_is_no_ordinary_number_is_refused_by_its_place(
    client: TestClient, literal: str, place: str
) -> None:
    sent = simple_piece()
    sent["parts"][0]["rings"][0][place] = {"deep": ["here"]} if place == "extra" else "here"
    body = json.dumps(sent).replace('"here"', literal)
    path = f"/parts/0/rings/0/{place}" + ("/deep/0" if place == "extra" else "")
    for address in ("/api/pieces", "/api/plan"):
        reply = client.post(address, content=body, headers=JSON)
        assert reply.status_code == 422
        assert path in {error["path"] for error in reply.json()["errors"]}
        assert literal not in reply.text
    assert client.get("/api/pieces").json()["items"] == []


@pytest.mark.parametrize("text", ['"\\ud800"', '"a\\udfffb"'])
def test_half_characters_are_refused(client: TestClient, text: str) -> None:
    sent = json.dumps({**simple_piece(), "name": "here"}).replace('"here"', text)
    assert client.post("/api/pieces", content=sent, headers=JSON).status_code == 422
    named = json.dumps({**simple_piece(), "extra": {"here": 1}}).replace('"here"', text)
    assert client.post("/api/pieces", content=named, headers=JSON).status_code == 422


@pytest.mark.parametrize("name", ["\x00", "\u202egnp", "<script>", "💥" * 50, "a\nb"])
def test_odd_but_whole_text_is_kept(client: TestClient, name: str) -> None:
    made = client.post("/api/pieces", json=simple_piece(name))
    assert made.status_code == 201
    assert client.get(f"/api/pieces/{made.json()['id']}").json()["piece"]["name"] == name


@pytest.mark.parametrize("kind", ["text/plain", "application/xml", "multipart/form-data", ""])
def test_another_kind_of_body_is_refused(client: TestClient, kind: str) -> None:
    reply = client.post(
        "/api/pieces", content=json.dumps(simple_piece()), headers={"content-type": kind}
    )
    assert reply.status_code in (400, 415, 422)


def _chunks(total: int) -> Iterator[bytes]:
    for _ in range(total // 65536):
        yield b" " * 65536


@pytest.mark.parametrize("address", ["/api/pieces", "/api/plan", "/api/ledger", "/look", "/pair"])
def test_more_than_a_mebibyte_is_too_much(client: TestClient, address: str) -> None:
    """Said by its length, or found while it comes in pieces."""
    kind = JSON if address.startswith("/api/") else FORM
    for content in (b" " * (MIB + 1), _chunks(2 * MIB)):
        reply = client.post(address, content=content, headers=kind)
        assert reply.status_code == 413
        assert reply.json()["status"] == 413


def test_just_a_mebibyte_is_taken(client: TestClient) -> None:
    body = json.dumps(simple_piece()).encode().ljust(MIB)
    assert client.post("/api/pieces", content=body, headers=JSON).status_code == 201


def test_a_page_gets_a_page(client: TestClient) -> None:
    for accept, kind in (("text/html,*/*", "text/html"), ("*/*", "application/problem+json")):
        reply = client.get("/no/such/place", headers={"accept": accept})
        assert reply.status_code == 404
        assert reply.headers["content-type"].startswith(kind)
        assert "nothing at this address" in reply.text
    api = client.get("/api/nowhere", headers={"accept": "text/html"})
    assert api.headers["content-type"] == "application/problem+json"


def test_another_verb_is_refused(client: TestClient) -> None:
    reply = client.patch("/api/pieces")
    assert reply.status_code == 405
    assert reply.json()["detail"] == "This cannot be done at this address."
