"""The rack and the shop over the API."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

BOARD: dict[str, Any] = {
    "wood": "sapele",
    "thickness_mm": 25.4,
    "width_mm": 152.4,
    "length_mm": 2440,
    "count": 2,
    "price_per_board_foot": 11.5,
    "defects": [{"x_mm": 100, "y_mm": 0, "length_mm": 40, "width_mm": 152.4}],
}


def test_a_board_is_kept_and_replaced(client: TestClient) -> None:
    made = client.post("/api/rack", json=BOARD)
    assert made.status_code == 201, made.text
    kept = made.json()
    assert kept["kind"] == "board"
    assert kept["item"] == {**BOARD, "kind": "board", "id": kept["id"]}
    address = f"/api/rack/{kept['id']}"
    fewer = {**BOARD, "count": 1}
    assert client.put(address, json=fewer).status_code == 428
    saved = client.put(address, json=fewer, headers={"If-Match": "1"})
    assert (saved.json()["revision"], saved.json()["item"]["count"]) == (2, 1)
    slower = client.put(address, json=BOARD, headers={"If-Match": "1"})
    assert slower.status_code == 409
    assert slower.json()["current"]["item"]["count"] == 1
    assert slower.json()["yours"] == BOARD
    older = client.get(f"{address}/revisions").json()["items"]
    assert [one["item"]["count"] for one in older] == [1, 2]


@pytest.mark.parametrize("kind", ["board", "strip", "offcut", "spare-ring"])
def test_every_kind_lies_on_the_rack(client: TestClient, kind: str) -> None:
    sent = {"id": f"{kind}-7", "kind": kind, "wood": "ash-white", "thickness_mm": 20}
    assert client.post("/api/rack", json=sent).status_code == 201
    assert client.get(f"/api/rack/{kind}-7").json()["kind"] == kind
    assert [one["kind"] for one in client.get("/api/rack").json()["items"]] == [kind]
    assert client.delete(f"/api/rack/{kind}-7").json()["archived"] is True
    assert client.get("/api/rack").json()["items"] == []
    assert client.post(f"/api/rack/{kind}-7/restore").json()["archived"] is False


@pytest.mark.parametrize(
    ("wrong", "path"),
    [
        ({"thickness_mm": "25"}, "/thickness_mm"),
        ({"thickness_mm": 0}, "/thickness_mm"),
        ({"width_mm": -1}, "/width_mm"),
        ({"count": 1.5}, "/count"),
        ({"kind": "plank"}, "/kind"),
        ({"wood": ""}, "/wood"),
        ({"colour": "red"}, "/colour"),
        ({"defects": [{"x_mm": 0}]}, "/defects/0/y_mm"),
        ({"id": 7}, "/id"),
    ],
)
def test_a_wrong_board_is_not_kept(client: TestClient, wrong: dict[str, Any], path: str) -> None:
    reply = client.post("/api/rack", json={**BOARD, **wrong})
    assert reply.status_code == 422
    assert path in {error["path"] for error in reply.json()["errors"]}
    assert client.get("/api/rack").json()["items"] == []


def test_an_id_lies_on_the_rack_once(client: TestClient) -> None:
    assert client.post("/api/rack", json={**BOARD, "id": "b1"}).status_code == 201
    again = client.post("/api/rack", json={**BOARD, "id": "b1"})
    assert again.status_code == 422
    assert again.json()["errors"][0]["path"] == "/id"
    assert client.get("/api/rack/nowhere").status_code == 404


def test_the_shop_is_read_changed_and_read(client: TestClient) -> None:
    shop = client.get("/api/shop").json()
    assert shop["revision"] == 0
    shop["faceplates"] = [{"name": "F1", "diameter_mm": 80}]
    saved = client.put("/api/shop", json=shop)
    assert saved.status_code == 200
    assert saved.json() == {**shop, "revision": 1}
    assert client.get("/api/shop").json() == saved.json()
    assert client.put("/api/shop", json=shop, headers={"If-Match": "1"}).status_code == 200
    slower = client.put("/api/shop", json={"jaws": []}, headers={"If-Match": "1"})
    assert slower.status_code == 409
    assert slower.json()["current"]["faceplates"] == shop["faceplates"]


def test_a_wrong_shop_is_not_kept(client: TestClient) -> None:
    reply = client.put("/api/shop", json={"faceplates": [{"diameter_mm": "80"}], "surprise": 1})
    assert reply.status_code == 422
    paths = {error["path"] for error in reply.json()["errors"]}
    assert {"/surprise", "/faceplates/0/name", "/faceplates/0/diameter_mm"} <= paths
    assert client.get("/api/shop").json()["revision"] == 0
