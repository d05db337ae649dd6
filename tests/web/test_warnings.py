"""What the server must say about itself stands on the page: stopped copies, a clock that jumped."""

from datetime import datetime, timedelta
from pathlib import Path

from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.live import clock as clocks

PAGE = {"accept": "text/html"}


def test_all_well_says_nothing(client: TestClient) -> None:
    assert 'class="bar red"' not in client.get("/pieces", headers=PAGE).text


def test_a_failed_copy_is_on_the_home_page_until_one_succeeds(
    client: TestClient, app: FastAPI
) -> None:
    in_the_way = Path(app.state.store.path).parent / "backups"
    in_the_way.write_text("")
    app.state.keeper.round()
    assert "No copy of the database could be made" in client.get("/pieces", headers=PAGE).text
    assert "No copy of" not in client.get("/lumber-rack", headers=PAGE).text
    in_the_way.unlink()
    app.state.keeper.round()
    assert 'class="bar red"' not in client.get("/pieces", headers=PAGE).text


def test_copies_older_than_two_days_are_said(client: TestClient, app: FastAPI) -> None:
    now: datetime = app.state.clock()
    app.state.keeper._clock = lambda: now + timedelta(hours=49)
    assert "newest copy of your pieces is 2 days old" in client.get("/pieces", headers=PAGE).text


def test_a_clock_that_jumped_is_said_on_every_page(client: TestClient, app: FastAPI) -> None:
    app.state.clock()
    later = clocks._wall() + timedelta(minutes=5)
    app.state.clock._wall = lambda: later
    app.state.clock()
    for place in ("/pieces", "/lumber-rack", "/connect"):
        assert "clock jumped forward by 5 min" in client.get(place, headers=PAGE).text
