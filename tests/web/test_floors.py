"""The book of floors: heard once, folded when asked; what the head of every page shows of it."""

from datetime import UTC, datetime, timedelta
from unittest.mock import patch

import pytest
from live_shop import goblet
from shop_help import ledger_line

from server.web.floors import head_timers, next_line, off_before

AT_A = {"stack": "low", "faceplate": "A", "minutes": 30}


@pytest.fixture
def cup(client):
    return client.post("/api/pieces", json=goblet()).json()["id"]


def say(client, piece, kind, subject, **more):
    reply = client.post("/api/ledger", json=ledger_line(piece, kind, subject, **more))
    assert reply.status_code == 200, reply.text
    return reply.json()


def test_running_times_of_all_pieces_stand_soonest_first(client, app, cup):
    other = client.post("/api/pieces", json=goblet() | {"name": "Other"}).json()["id"]
    say(client, cup, "clamped", "c1", data=AT_A)
    say(client, other, "clamped", "f1", data={"stack": "base", "faceplate": "C", "minutes": 5})
    timers = head_timers(app.state.floors, datetime.now(UTC))
    assert [(t.letter, t.piece) for t in timers] == [("C", other), ("A", cup)]
    assert timers[1].title == "In the press on A"
    assert timers[1].href == f"/pieces/{cup}/glue-bench"


def test_half_rings_of_the_same_number_are_told_apart_by_their_faceplates(client, app, cup):
    document = goblet()
    plates = {ring: s["faceplate"] for s in document["stacks"] for ring in s["rings"]}
    first = {part["id"]: part["rings"][0]["id"] for part in document["parts"] if part.get("rings")}
    assert len(first) > 1
    for ring in first.values():
        say(client, cup, "halves-glued", ring, data={"minutes": 30})
    timers = head_timers(app.state.floors, datetime.now(UTC))
    assert {t.ring for t in timers} == {"1"}
    assert sorted(t.letter for t in timers) == sorted(plates[ring] for ring in first.values())
    assert "ring 1" in client.get(f"/pieces/{cup}/glue-bench").text


def test_a_piece_that_is_put_away_rings_no_more(client, app, cup):
    say(client, cup, "clamped", "c1", data=AT_A)
    client.delete(f"/api/pieces/{cup}")
    assert head_timers(app.state.floors, datetime.now(UTC)) == []
    assert next_line(app.state.floors, cup, datetime.now(UTC)) is None


def test_each_page_says_what_is_next_and_leads_there(client, app, cup):
    now = datetime.now(UTC)
    line = next_line(app.state.floors, cup, now)
    assert (line.do, line.of) == ("Cut 8 segments of ring 1", "Ferry cup")
    assert line.href == f"/pieces/{cup}/saw-bench"
    say(client, cup, "dry-fitted", "c1")
    line = next_line(app.state.floors, None, now)
    assert line.do == "Glue the half rings of ring 1"
    assert line.href == f"/pieces/{cup}/glue-bench"
    page = client.get("/pieces").text
    assert "Glue the half rings of ring 1" in page


def test_an_older_ledger_put_back_is_read_afresh_with_its_next_line(client, app, cup):
    say(client, cup, "dry-fitted", "c1")
    book = app.state.floors
    assert book.look(cup, datetime.now(UTC))[1] == 1
    book._seq = 99
    say(client, cup, "dry-fitted", "c2")
    floor, seq = book.look(cup, datetime.now(UTC))
    assert seq == 2
    assert len(floor.ring("c1").ticks) == len(floor.ring("c2").ticks) == 1


def test_what_was_read_stands_until_something_is_saved(client, app, cup):
    store, asked = app.state.store, []
    client.get("/pieces")
    with patch.object(
        store, "read", side_effect=lambda: asked.append(1) or type(store).read(store)
    ):
        assert client.get("/api/time").json()["seq"] == 0
        assert asked == []
        say(client, cup, "dry-fitted", "c1")
        asked.clear()
        assert client.get("/api/time").json()["seq"] == 1
    assert client.get("/parts/next").status_code == 200
    changed = client.get(f"/api/pieces/{cup}").json()
    name = {**changed["piece"], "name": "Another name"}
    reply = client.put(
        f"/api/pieces/{cup}", json=name, headers={"if-match": f'"{changed["revision"]}"'}
    )
    assert reply.status_code == 200, reply.text
    assert "Another name" in client.get("/parts/next").text


def test_a_rest_ends_with_the_time_alone(client, app, cup):
    data = AT_A | {"rest_minutes": 20}
    say(client, cup, "clamped", "c1", data=AT_A)
    say(client, cup, "released", "c1", data=data)
    book, now = app.state.floors, datetime.now(UTC)
    assert [timer.kind for timer in book.floor(cup, now).timers] == ["rest"]
    assert book.floor(cup, now + timedelta(minutes=21)).timers == ()
    assert [timer.kind for timer in book.floor(cup, now).timers] == ["rest"]


def test_what_the_log_says_of_a_glue_follows_the_log_and_the_temperature(client, app, cup):
    book, noon = app.state.floors, datetime.now(UTC) - timedelta(days=2)

    def press(minutes, hour, degrees):
        data = AT_A | {"glue": "pva-yellow", "temperature_c": degrees}
        for kind, at in (("clamped", 0), ("released", minutes)):
            when = (noon + timedelta(hours=hour, minutes=at)).isoformat()
            say(client, cup, kind, "c1", at=when, data=data)

    for hour in range(3):
        press(30, hour, 20)
    assert book.suggested_times("pva-yellow", 20).press_minutes == 30
    assert book.suggested_times("hide", 20) is None
    for hour in range(3, 7):
        press(40, hour, 8)
    assert book.suggested_times("pva-yellow", 20).presses == 3
    assert book.suggested_times("pva-yellow", 8).press_minutes == 40
    press(30, 7, 20)
    assert book.suggested_times("pva-yellow", 20).presses == 4


def test_off_is_from_the_last_moment_known_to_this_start(client, app, cup):
    now = datetime.now(UTC) + timedelta(hours=9)
    assert off_before(app.state.store, now) is None
    entry = say(client, cup, "dry-fitted", "c1")
    went, came = off_before(app.state.store, now)
    assert went == datetime.fromisoformat(entry["received_at"])
    assert came == now


def test_the_beat_gives_time_and_newest_line(client, cup):
    before = datetime.now(UTC).timestamp() * 1000
    say(client, cup, "dry-fitted", "c1")
    beat = client.get("/api/time").json()
    assert beat["seq"] == 1
    assert before <= beat["now_ms"] <= datetime.now(UTC).timestamp() * 1000
    assert beat["behind_s"] == 0
