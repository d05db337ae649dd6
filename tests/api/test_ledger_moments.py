"""A line of the ledger says its time as the device wrote it."""

import uuid

import pytest
from fastapi.testclient import TestClient


@pytest.mark.parametrize(
    "at",
    [
        "2026-05-02T18:00:00+02:00",
        "2026-05-02T18:00:00.123456+00:00",
        "2026-05-02T18:00:00Z",
        "2026-05-02T18:00:00.5-07:00",
    ],
)
def test_the_time_comes_back_as_it_was_sent(client: TestClient, piece_id: str, at: str) -> None:
    sent = {"id": str(uuid.uuid4()), "piece": piece_id, "kind": "note", "subject": "r1", "at": at}
    reply = client.post("/api/ledger", json=sent).json()

    assert {key: reply[key] for key in sent} == sent
    assert client.post("/api/ledger", json=sent).json() == reply
    assert client.get("/api/ledger?after=0").json()["items"] == [reply]
