"""Keeping pieces: made, read, saved again, argued over, put away."""

import pytest
from fastapi.testclient import TestClient
from shop_help import simple_piece


def test_a_piece_is_kept_as_it_was_sent(client: TestClient) -> None:
    sent = {**simple_piece("Orchard bowl"), "extra": {"who": ["knows", 1.5]}}
    made = client.post("/api/pieces", json=sent)
    assert made.status_code == 201
    assert made.json()["revision"] == 1
    assert made.json()["piece"] == sent
    assert made.headers["location"] == f"/api/pieces/{made.json()['id']}"
    again = client.get(made.headers["location"])
    assert again.json() == made.json()
    assert again.headers["etag"] == '"1"'
    assert [item["id"] for item in client.get("/api/pieces").json()["items"]] == [made.json()["id"]]


@pytest.mark.parametrize("tag", ["1", '"1"', 'W/"1"', " 1 "])
def test_saving_again_is_the_next_revision(client: TestClient, piece_id: str, tag: str) -> None:
    changed = simple_piece("Changed")
    saved = client.put(f"/api/pieces/{piece_id}", json=changed, headers={"If-Match": tag})
    assert saved.status_code == 200, saved.text
    assert (saved.json()["revision"], saved.json()["piece"]) == (2, changed)
    listed = client.get(f"/api/pieces/{piece_id}/revisions").json()["items"]
    assert [(one["revision"], one["name"]) for one in listed] == [(2, "Changed"), (1, "Test bowl")]
    first = client.get(f"/api/pieces/{piece_id}/revisions/1").json()
    assert first["piece"] == simple_piece()
    assert client.get(f"/api/pieces/{piece_id}/revisions/3").status_code == 404


def test_who_was_slower_gets_both(client: TestClient, piece_id: str) -> None:
    address, first = f"/api/pieces/{piece_id}", {"If-Match": "1"}
    assert client.put(address, json=simple_piece("Faster"), headers=first).status_code == 200
    slower = client.put(address, json=simple_piece("Slower"), headers=first)
    assert slower.status_code == 409
    assert slower.headers["content-type"] == "application/problem+json"
    assert slower.json()["current"]["revision"] == 2
    assert slower.json()["current"]["piece"]["name"] == "Faster"
    assert slower.json()["yours"]["name"] == "Slower"
    assert client.get(address).json()["piece"]["name"] == "Faster"


@pytest.mark.parametrize(("tag", "status"), [(None, 428), ("*", 422), ("one", 422), ("-1", 422)])
def test_saving_asks_what_it_is_based_on(
    client: TestClient, piece_id: str, tag: str | None, status: int
) -> None:
    headers = {} if tag is None else {"If-Match": tag}
    reply = client.put(f"/api/pieces/{piece_id}", json=simple_piece("New"), headers=headers)
    assert reply.status_code == status
    assert client.get(f"/api/pieces/{piece_id}").json()["revision"] == 1


def test_deleting_archives(client: TestClient, piece_id: str) -> None:
    gone = client.delete(f"/api/pieces/{piece_id}")
    assert gone.status_code == 200
    assert gone.json()["archived"] is True
    assert client.get("/api/pieces").json()["items"] == []
    archived = client.get("/api/pieces", params={"archived": True}).json()["items"]
    assert [item["id"] for item in archived] == [piece_id]
    assert client.get(f"/api/pieces/{piece_id}").json()["piece"] == simple_piece()
    assert client.delete(f"/api/pieces/{piece_id}").status_code == 200
    assert client.post(f"/api/pieces/{piece_id}/restore").json()["archived"] is False
    assert len(client.get("/api/pieces").json()["items"]) == 1


def test_a_kept_piece_has_the_plan_of_its_document(client: TestClient, piece_id: str) -> None:
    kept = client.get(f"/api/pieces/{piece_id}/plan")
    sent = client.post("/api/plan", json=simple_piece())
    assert kept.status_code == sent.status_code == 200
    assert kept.json()["parts"] == sent.json()["parts"]
    assert kept.json()["totals"]["segments"] == 12


@pytest.mark.parametrize("address", ["", "/revisions", "/revisions/1", "/plan", "/photos"])
def test_a_piece_that_is_not_there(client: TestClient, address: str) -> None:
    reply = client.get(f"/api/pieces/nowhere{address}")
    assert reply.status_code == 404
    assert reply.json()["status"] == 404


def test_a_wrong_document_is_not_kept(client: TestClient, piece_id: str) -> None:
    wrong = {**simple_piece(), "name": 12, "surprise": True}
    made = client.post("/api/pieces", json=wrong)
    saved = client.put(f"/api/pieces/{piece_id}", json=wrong, headers={"If-Match": "1"})
    for reply in (made, saved):
        assert reply.status_code == 422
        assert reply.headers["content-type"] == "application/problem+json"
        assert {error["path"] for error in reply.json()["errors"]} == {"/name", "/surprise"}
    assert len(client.get("/api/pieces").json()["items"]) == 1
    assert client.get(f"/api/pieces/{piece_id}").json()["revision"] == 1
