"""The server's clock was wrong and somebody says that it is right: now, and at later starts."""

from datetime import UTC, datetime, timedelta

from fastapi import FastAPI
from fastapi.testclient import TestClient
from shop_help import ledger_line

from server.live.clock import Clock
from server.store.opening import last_seen

AHEAD = timedelta(hours=3)


def set_ahead(clock: Clock) -> datetime:
    """Let the clock have been three hours ahead until now."""
    clock._sure_until = datetime.now(UTC) + AHEAD
    return clock._sure_until


def test_held_times_run_again_once_the_clock_is_believed(
    client: TestClient, app: FastAPI, piece_id: str
) -> None:
    ahead = set_ahead(app.state.clock)
    client.post("/api/ledger", json=ledger_line(piece_id))
    assert client.get("/api/time").json()["behind_s"] > AHEAD.total_seconds() - 60
    assert last_seen(app.state.store) == ahead
    assert client.post("/clock/right", headers={"HX-Request": "true"}).status_code == 204
    assert client.get("/api/time").json()["behind_s"] == 0
    # The line from the wrong hours stays as it is, and does not hold the next start.
    assert (
        client.get("/api/ledger").json()["items"][0]["received_at"][:16] == (ahead.isoformat()[:16])
    )
    seen = last_seen(app.state.store)
    assert seen is not None
    assert abs(seen - datetime.now(UTC)) < timedelta(minutes=1)
    client.post("/api/ledger", json=ledger_line(piece_id))
    later = last_seen(app.state.store)
    assert later is not None
    assert later >= seen


def test_a_jump_is_said_on_every_page_with_the_button_that_ends_it(
    client: TestClient, app: FastAPI
) -> None:
    app.state.clock._jumped = timedelta(minutes=90)
    for path in ("/pieces", "/office"):
        page = client.get(path).text
        assert "jumped forward by 90 min" in page
        assert 'action="/clock/right"' in page
    assert client.post("/clock/right", follow_redirects=False).status_code == 303
    assert "jumped forward" not in client.get("/pieces").text
