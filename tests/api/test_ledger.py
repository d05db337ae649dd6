"""The ledger over the API: retries are safe, ids are one line, wrong lines are refused whole."""

import uuid
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shop_help import ledger_line

from server.craft.ledger import Kind

FIELDS = {
    "id", "seq", "piece", "part", "kind", "subject", "at", "received_at", "note", "device",
    "undoes", "seen_seq", "data",
}  # fmt: skip


def lines(client: TestClient, **params: Any) -> list[dict[str, Any]]:
    items: list[dict[str, Any]] = client.get("/api/ledger", params=params).json()["items"]
    return items


def test_a_line_is_answered_with_its_number(client: TestClient, piece_id: str) -> None:
    sent = ledger_line(
        piece_id, part="bowl", note="snug", device="phone", seen_seq=0, data={"count": 12}
    )
    reply = client.post("/api/ledger", json=sent)
    assert reply.status_code == 200, reply.text
    kept = reply.json()
    assert set(kept) == FIELDS
    assert kept["seq"] == 1
    assert kept["received_at"].endswith("Z")
    for name in ("id", "piece", "part", "kind", "subject", "note", "device", "seen_seq", "data"):
        assert kept[name] == sent[name]
    assert lines(client) == [kept]


def test_five_times_the_same_line_is_one(client: TestClient, piece_id: str) -> None:
    sent = ledger_line(piece_id, "clamped", data={"minutes": 40, "faceplate": "F1"})
    replies = [client.post("/api/ledger", json=sent) for _ in range(5)]
    assert {(reply.status_code, reply.text) for reply in replies} == {(200, replies[0].text)}
    upper = {**sent, "id": sent["id"].upper()}
    assert client.post("/api/ledger", json=upper).json() == replies[0].json()
    assert len(lines(client)) == 1


@pytest.mark.parametrize(
    "other", [{"subject": "r2"}, {"kind": "trued"}, {"data": {"count": 3}}, {"note": "no"}]
)
def test_the_same_id_with_something_else_is_a_conflict(
    client: TestClient, piece_id: str, other: dict[str, Any]
) -> None:
    sent = ledger_line(piece_id)
    first = client.post("/api/ledger", json=sent)
    reply = client.post("/api/ledger", json={**sent, **other})
    assert reply.status_code == 409
    assert reply.headers["content-type"] == "application/problem+json"
    assert lines(client) == [first.json()]


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.UNDONE])
def test_every_kind_is_taken(client: TestClient, piece_id: str, kind: Kind) -> None:
    made = client.post("/api/ledger", json=ledger_line(piece_id, str(kind)))
    assert made.json()["kind"] == kind
    undo = ledger_line(piece_id, "undone", undoes=made.json()["id"])
    undone = client.post("/api/ledger", json=undo)
    assert undone.status_code == 200
    assert (undone.json()["undoes"], undone.json()["seq"]) == (made.json()["id"], 2)


@pytest.mark.parametrize(
    ("wrong", "path"),
    [
        ({"id": "7"}, "/id"),
        ({"id": None}, "/id"),
        ({"piece": "nowhere"}, "/piece"),
        ({"piece": 7}, "/piece"),
        ({"kind": "sanded"}, "/kind"),
        ({"subject": ""}, "/subject"),
        ({"at": "2026-05-02T18:00:00"}, "/at"),
        ({"at": "2026-05-02"}, "/at"),
        ({"at": "yesterday"}, "/at"),
        ({"at": 1_700_000_000}, "/at"),
        ({"at": "2026-02-30T18:00:00Z"}, "/at"),
        ({"at": "0001-01-01T00:00:00+14:00"}, "/at"),
        ({"note": 5}, "/note"),
        ({"note": "x" * 20_001}, "/note"),
        ({"seen_seq": -1}, "/seen_seq"),
        ({"seen_seq": "1"}, "/seen_seq"),
        ({"undoes": str(uuid.UUID(int=1))}, "/undoes"),
        ({"kind": "undone"}, "/undoes"),
        ({"kind": "undone", "undoes": str(uuid.UUID(int=1))}, "/undoes"),
        ({"kind": "undone", "undoes": "it"}, "/undoes"),
        ({"data": []}, "/data"),
        ({"data": {"minutes": "40"}}, "/data/minutes"),
        ({"data": {"minutes": -1}}, "/data/minutes"),
        ({"data": {"count": 0}}, "/data/count"),
        ({"data": {"count": 1.5}}, "/data/count"),
        ({"data": {"count": True}}, "/data/count"),
        ({"data": {"humidity_percent": 101}}, "/data/humidity_percent"),
        ({"data": {"sha256": "../../etc/passwd"}}, "/data/sha256"),
        ({"colour": "red"}, "/colour"),
        ({"seq": 5}, "/seq"),
    ],
)
def test_a_wrong_line_is_refused_whole(
    client: TestClient, piece_id: str, wrong: dict[str, Any], path: str
) -> None:
    reply = client.post("/api/ledger", json={**ledger_line(piece_id), **wrong})
    assert reply.status_code == 422, reply.text
    assert path in {error["path"] for error in reply.json()["errors"]}
    assert lines(client) == []


@pytest.mark.parametrize("name", ["id", "piece", "kind", "subject", "at"])
def test_what_is_missing_is_named(client: TestClient, piece_id: str, name: str) -> None:
    sent = ledger_line(piece_id)
    del sent[name]
    reply = client.post("/api/ledger", json=sent)
    assert [error["path"] for error in reply.json()["errors"]] == [f"/{name}"]


def test_the_same_line_with_its_time_written_otherwise_is_the_same(
    client: TestClient, piece_id: str
) -> None:
    sent = ledger_line(piece_id, at="2026-05-02T18:00:00.123456+02:00")
    first = client.post("/api/ledger", json=sent).json()
    again = client.post("/api/ledger", json={**sent, "at": "2026-05-02T16:00:00.123456Z"})
    assert (again.status_code, again.json()) == (200, first)


def test_reading_on(client: TestClient, piece_id: str) -> None:
    for _ in range(5):
        client.post("/api/ledger", json=ledger_line(piece_id))
    assert [line["seq"] for line in lines(client, after=2)] == [3, 4, 5]
    assert [line["seq"] for line in lines(client, after=2, limit=1)] == [3]
    assert lines(client, after=99) == lines(client, piece="nowhere") == []
    for wrong in ("-1", "x", "1.5", "9" * 400):
        assert client.get("/api/ledger", params={"after": wrong}).status_code == 422


TEXT = st.text(max_size=20)
JSONS = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | TEXT,
    lambda below: st.lists(below, max_size=3) | st.dictionaries(TEXT, below, max_size=3),
    max_leaves=8,
)


@settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    derandomize=True,
)
@given(st.dictionaries(st.sampled_from(sorted(FIELDS)) | TEXT, JSONS, max_size=6))
def test_nothing_that_is_sent_breaks_it(
    client: TestClient, piece_id: str, changes: dict[str, Any]
) -> None:
    import json

    sent = {**ledger_line(piece_id), **changes}
    reply = client.post(
        "/api/ledger", content=json.dumps(sent), headers={"content-type": "application/json"}
    )
    assert reply.status_code in (200, 400, 409, 422)
