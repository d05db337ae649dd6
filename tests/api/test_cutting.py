"""`POST /api/cutting` as other programs see it."""

from typing import Any

import pytest
from cutting_cases import board, instance, request, strip
from cutting_checker import faults
from fastapi.testclient import TestClient


def test_a_layout_has_the_fields_of_the_contract(client: TestClient) -> None:
    asked = instance("14_one_ring", time_limit_s=1)
    reply = client.post("/api/cutting", json=asked)
    assert reply.status_code == 200, reply.text
    answer = reply.json()
    assert faults(asked, answer) == []
    assert set(answer) == {"status", "cost", "bound", "boards", "short"}
    assert set(answer["boards"][0]) == {"id", "copy", "strips", "offcuts"}
    laid = answer["boards"][0]["strips"][0]
    assert set(laid) == {"x_mm", "y_mm", "length_mm", "width_mm", "pieces"}
    assert laid["pieces"] == [{"strip": "R01-maple", "count": 12}]


def test_a_board_in_leaves_is_told_by_copy(client: TestClient) -> None:
    """17 mm and 1.5 mm to plane: 40 mm gives it in two leaves of 18.8 mm, not in three."""
    asked = request([strip("s1", thickness_mm=17.0)], [board("b1", thickness_mm=40.0, leaves=2)])
    answer = client.post("/api/cutting", json=asked).json()
    assert [(laid["id"], laid["copy"]) for laid in answer["boards"]] == [("b1", 1)]
    three = request([strip("s1", thickness_mm=17.0)], [board("b1", thickness_mm=40.0, leaves=3)])
    assert client.post("/api/cutting", json=three).json()["status"] == "short"
    kerf = request([strip("s1")], [board("b1", thickness_mm=20.0, leaves=9)])
    refused = client.post("/api/cutting", json=kerf)
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["path"] == "/rack/0/leaves"


def test_short_rows(client: TestClient) -> None:
    reply = client.post("/api/cutting", json=request([strip("s1")], []))
    assert reply.status_code == 200, reply.text
    row = reply.json()["short"][0]
    assert set(row) == {"strip", "wood", "thickness_mm", "pieces", "board_feet"}


@pytest.mark.parametrize(
    ("asked", "path"),
    [
        (request([strip("s1", count="12")], []), "/strips/0/count"),
        (request([strip("s1", colour="red")], []), "/strips/0/colour"),
        (request([strip("s1")], [board("b1", width_mm=0)]), "/rack/0/width_mm"),
        (request([strip("s1")], [board("b1", defects=[{"x_mm": 1}])]), "/rack/0/defects/0/y_mm"),
        (request([strip("s1", width_mm=95.0)], []), "/strips/0/width_mm"),
        (request([strip("s1")], [], saw={"rip_kerf_mm": 25}), "/saw/rip_kerf_mm"),
        (request([strip("s1")], [], time_limit_s=-1), "/time_limit_s"),
        (request([strip("s1")], [board("b1"), board("b1")]), "/rack/1/id"),
    ],
)
def test_wrong_input_is_named(client: TestClient, asked: dict[str, Any], path: str) -> None:
    reply = client.post("/api/cutting", json=asked)
    assert reply.status_code == 422
    assert reply.headers["content-type"] == "application/problem+json"
    assert path in [error["path"] for error in reply.json()["errors"]]


def test_extra_is_taken_anywhere(client: TestClient) -> None:
    asked = request([strip("s1", extra={"a": 1})], [board("b1", extra={"b": 2})], extra={"c": 3})
    assert client.post("/api/cutting", json=asked).status_code == 200
