"""Rests that the ledger brings back: stock like any other, gone again on undo."""

from typing import Any

import pytest
from fastapi.testclient import TestClient
from saw_pieces import band_ring, boards_for
from shop_help import ledger_line

WOOD = "ash-white"
REST = {"length_mm": 500.0, "width_mm": 150.0}


@pytest.fixture
def piece(client: TestClient) -> str:
    return str(client.post("/api/pieces", json=band_ring("Band", WOOD)).json()["id"])


@pytest.fixture
def board(client: TestClient) -> str:
    return str(client.post("/api/rack", json=boards_for(WOOD)[0]).json()["id"])


def say(client: TestClient, piece: str, kind: str, subject: str, **more: Any) -> str:
    reply = client.post("/api/ledger", json=ledger_line(piece, kind, subject, **more))
    assert reply.status_code == 200, reply.text
    return str(reply.json()["id"])


def rack(client: TestClient) -> dict[str, dict[str, Any]]:
    return {item["id"]: item for item in client.get("/api/rack").json()["items"]}


def test_a_used_board_leaves_and_its_rest_comes_and_undo_turns_it_round(
    client: TestClient, piece: str, board: str
) -> None:
    assert (rack(client)[board]["left"], rack(client)[board]["used"]) == (1, 0)
    use = say(client, piece, "used", board, data={"count": 1, "returns": [REST]})
    (rest,) = rack(client).values()
    label = f"{use[:8]}-1"
    assert (rest["id"], rest["kind"], rest["revision"], rest["left"]) == (label, "offcut", 0, 1)
    assert rest["came_from"] == {"entry": use, "piece": piece, "board": board}
    assert rest["item"]["length_mm"] == 500
    assert client.get(f"/api/rack/{label}").json() == rest
    assert client.get(f"/api/rack/{board}").json()["left"] == 0
    say(client, piece, "undone", board, undoes=use)
    assert list(rack(client)) == [board]
    assert client.get(f"/api/rack/{label}").status_code == 404


def test_a_rest_is_corrected_like_a_board(client: TestClient, piece: str, board: str) -> None:
    use = say(client, piece, "used", board, data={"returns": [REST]})
    (rest,) = rack(client).values()
    address = f"/api/rack/{rest['id']}"
    shorter = {**rest["item"], "length_mm": 480, "place": "Bin"}
    saved = client.put(address, json=shorter, headers={"If-Match": "0"})
    assert (saved.status_code, saved.json()["revision"]) == (200, 1)
    late = client.put(address, json=rest["item"], headers={"If-Match": "0"})
    assert late.status_code == 409
    assert late.json()["current"]["item"]["place"] == "Bin"
    assert len(client.get(f"{address}/revisions").json()["items"]) == 1
    undo = say(client, piece, "undone", board, undoes=use)
    assert list(rack(client)) == [board]
    say(client, piece, "undone", board, undoes=undo)
    assert rack(client)[rest["id"]]["item"]["length_mm"] == 480


def test_a_rest_can_be_thrown_away_and_fetched_out_again(
    client: TestClient, piece: str, board: str
) -> None:
    say(client, piece, "used", board, data={"returns": [REST]})
    (label,) = rack(client)
    assert client.delete(f"/api/rack/{label}").json()["archived"] is True
    assert rack(client) == {}
    off = client.get("/api/rack?archived=true").json()["items"]
    assert [item["id"] for item in off] == [label]
    assert client.post(f"/api/rack/{label}/restore").json()["left"] == 1


def test_a_rest_that_is_used_brings_a_rest_of_its_own(
    client: TestClient, piece: str, board: str
) -> None:
    first = say(client, piece, "used", board, data={"returns": [REST]})
    second = say(client, piece, "used", f"{first[:8]}-1", data={"returns": [REST]})
    (rest,) = rack(client).values()
    assert rest["id"] == f"{second[:8]}-1"
    assert rest["item"]["name"] == "Rest of Wide one"
    say(client, piece, "undone", board, undoes=first)
    assert list(rack(client)) == [board]


def test_the_pages_show_the_rest_and_what_was_used_up(
    client: TestClient, piece: str, board: str
) -> None:
    say(client, piece, "used", board, data={"returns": [REST]})
    (rest,) = rack(client).values()
    page = client.get(f"/lumber-rack/items/{rest['id']}").text
    assert "Write this label on the wood" in page
    assert rest["id"] in client.get("/lumber-rack").text
    assert rest["id"] in client.get("/lumber-rack/rack.csv").text
    assert "Wide one" in client.get("/lumber-rack?archived=true").text
