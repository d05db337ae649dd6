"""Keeping pieces: made, read, saved again, argued over, put away."""

from fastapi.testclient import TestClient
from shop_help import simple_piece


def test_a_piece_is_kept_as_it_was_sent(client: TestClient) -> None:
    sent = {**simple_piece("Orchard bowl"), "extra": {"who": ["knows", 1.5]}}
    made = client.post("/api/pieces", json=sent)
    assert made.status_code == 201
    assert made.json()["revision"] == 1
    assert made.json()["piece"] == sent
    again = client.get(f"/api/pieces/{made.json()['id']}")
    assert again.json() == made.json()
    assert [item["id"] for item in client.get("/api/pieces").json()["items"]] == [made.json()["id"]]
