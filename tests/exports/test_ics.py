"""The gluing calendar, as an outside reader finds it: times, alarms, the same UIDs every time."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import icalendar
import pytest
from exports_pieces import NASTY_NAMES, every_kind, goblet, worked

from server.craft.errors import CraftError
from server.craft.floor import fold
from server.craft.glue.adhesives import glue
from server.craft.ledger import Entry, Kind
from server.exports.ics import gluing_ics

NOW = datetime(2026, 5, 2, 18, 0, 20, tzinfo=UTC)


def _events(content: bytes) -> list[Any]:
    calendar = icalendar.Calendar.from_ical(content)
    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]
    return list(calendar.walk("VEVENT"))


def _only(events: list[Any], words: str) -> Any:
    found = [event for event in events if words in event["SUMMARY"]]
    assert len(found) == 1, [str(event["SUMMARY"]) for event in events]
    return found[0]


def _moment(event: Any, field: str) -> datetime:
    moment = event[field].dt
    assert isinstance(moment, datetime)
    assert moment.utcoffset() == timedelta(0)
    return moment


def test_a_stack_is_pressed_ring_after_ring_and_is_ready_when_it_has_cured() -> None:
    document = goblet()
    document["stacks"][0]["rings"] = ["b1", "b2", "b3", "b4", "b5"]
    events = _events(gluing_ics(worked(document), NOW))
    yellow = glue("pva-yellow")
    assert len(events) == 5 + 4 + 1
    at = datetime(2026, 5, 2, 18, 1, tzinfo=UTC)
    for ring in ("ring 1", "ring 2", "ring 3", "ring 4", "ring 5"):
        press = _only(events, f"Press {ring} on Bowl, lower (F1)")
        assert _moment(press, "DTSTART") == at
        at += timedelta(minutes=yellow.press_minutes)
        assert _moment(press, "DTEND") == at
        if ring != "ring 5":
            rest = _only(events, f"rests after {ring}")
            assert _moment(rest, "DTSTART") == at
            at += timedelta(minutes=yellow.rest_minutes)
            assert _moment(rest, "DTEND") == at
    ready = _only(events, "is ready")
    assert _moment(ready, "DTSTART") == at + timedelta(hours=yellow.cure_hours)


def test_every_event_rings_when_something_is_to_be_done() -> None:
    rung: dict[str, set[datetime]] = {"START": set(), "END": set()}
    for event in _events(gluing_ics(worked(goblet()), NOW)):
        for alarm in event.walk("VALARM"):
            assert alarm["ACTION"] == "DISPLAY"
            assert alarm["DESCRIPTION"]
            assert alarm["TRIGGER"].dt == timedelta(0)
            related = alarm["TRIGGER"].params["RELATED"]
            rung[related].add(_moment(event, "DTEND" if related == "END" else "DTSTART"))
    events = _events(gluing_ics(worked(goblet()), NOW))
    moments = {_moment(event, "DTSTART") for event in events}
    moments |= {_moment(event, "DTEND") for event in events if "DTEND" in event}
    assert rung["START"] | rung["END"] == moments
    assert not rung["START"] & rung["END"]


def test_the_first_press_of_an_evening_rings_as_it_begins() -> None:
    document = goblet()
    document["stacks"].append(
        {"id": "high", "part": "bowl", "rings": ["b5", "b4"], "mounted": "top", "faceplate": "F1"}
    )
    events = _events(gluing_ics(worked(document), NOW))
    first = min(events, key=lambda event: _moment(event, "DTSTART"))
    assert "Press" in first["SUMMARY"]
    related = [alarm["TRIGGER"].params["RELATED"] for alarm in first.walk("VALARM")]
    assert sorted(related) == ["END", "START"]


def test_uids_stay_and_differ() -> None:
    first = _events(gluing_ics(worked(goblet()), NOW))
    later = _events(gluing_ics(worked(goblet()), NOW + timedelta(days=3)))
    uids = [str(event["UID"]) for event in first]
    assert len(set(uids)) == len(uids)
    assert uids == [str(event["UID"]) for event in later]
    other = _events(gluing_ics(worked({**goblet(), "name": "Other"}), NOW))
    assert not set(uids) & {str(event["UID"]) for event in other}


def test_a_kept_piece_keeps_its_uids_when_it_is_renamed() -> None:
    renamed = worked({**goblet(), "name": "Other"})
    one = _events(gluing_ics(worked(goblet()), NOW, piece="p1", revision=3))
    two = _events(gluing_ics(renamed, NOW, piece="p1", revision=4))
    assert [str(e["UID"]) for e in one] == [str(e["UID"]) for e in two]
    assert {int(e["SEQUENCE"]) for e in one} == {3}
    assert {int(e["SEQUENCE"]) for e in two} == {4}


def test_it_begins_when_asked_for_whatever_the_offset() -> None:
    start = datetime(2026, 6, 1, 8, 30, tzinfo=timezone(timedelta(hours=2)))
    events = _events(gluing_ics(worked(goblet()), NOW, start=start))
    assert min(_moment(event, "DTSTART") for event in events) == datetime(
        2026, 6, 1, 6, 30, tzinfo=UTC
    )


def test_one_faceplate_carries_one_stack_at_a_time() -> None:
    document = goblet()
    document["stacks"].append(
        {"id": "high", "part": "bowl", "rings": ["b5", "b4"], "mounted": "top", "faceplate": "F1"}
    )
    events = _events(gluing_ics(worked(document), NOW))
    ready = _moment(_only(events, "Bowl, lower is ready"), "DTSTART")
    assert _moment(_only(events, "Press ring 5 "), "DTSTART") >= ready
    document["stacks"][1]["faceplate"] = "F2"
    events = _events(gluing_ics(worked(document), NOW))
    assert _moment(_only(events, "Press ring 5 "), "DTSTART") < ready


def test_cold_slows_the_glue() -> None:
    document = {**goblet(), "room": {"temperature_c": 13, "humidity_percent": 50}}
    press = _only(_events(gluing_ics(worked(document), NOW)), "Press ring 1 ")
    long = _moment(press, "DTEND") - _moment(press, "DTSTART")
    warm = timedelta(minutes=glue("pva-yellow").press_minutes)
    # Ten degrees double the time [cp]: five are √2, rounded up to a whole minute.
    assert warm * 2**0.5 <= long < warm * 2**0.5 + timedelta(minutes=1)


def test_too_cold_is_said_at_every_press() -> None:
    document = {**goblet(), "room": {"temperature_c": -5, "humidity_percent": 50}}
    said = [str(e["DESCRIPTION"]) for e in _events(gluing_ics(worked(document), NOW))]
    assert sum("Too cold in the shop for this glue" in words for words in said) == 5
    warm = [str(e["DESCRIPTION"]) for e in _events(gluing_ics(worked(goblet()), NOW))]
    assert not any("Too cold" in words for words in warm)


def test_rings_on_no_stack_are_glued_too() -> None:
    summaries = [str(e["SUMMARY"]) for e in _events(gluing_ics(worked(goblet()), NOW))]
    assert any("Press ring 4 " in summary for summary in summaries)
    assert any("Press ring 5 " in summary for summary in summaries)


def _entry(seq: int, kind: Kind, subject: str, minutes_ago: float, **data: Any) -> Entry:
    at = NOW - timedelta(minutes=minutes_ago)
    return Entry(
        id=f"e{seq}",
        seq=seq,
        piece="p1",
        kind=kind,
        subject=subject,
        at=at,
        received_at=at,
        data=data,
    )


def test_what_is_glued_already_is_not_glued_again() -> None:
    entries = [
        _entry(1, Kind.CLAMPED, "b1", 90, stack="low", faceplate="F1", minutes=30),
        _entry(2, Kind.RELEASED, "b1", 10, stack="low", rest_minutes=30),
    ]
    events = _events(gluing_ics(worked(goblet()), NOW, floor=fold(entries, now=NOW)))
    summaries = [str(event["SUMMARY"]) for event in events]
    assert not any("Press ring 1 " in summary for summary in summaries)
    second = _only(events, "Press ring 2 ")
    # The rest of 30 minutes began 10 minutes ago.
    assert _moment(second, "DTSTART") >= NOW + timedelta(minutes=20)


def test_more_rings_than_can_be_scheduled_are_refused_in_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("server.exports.gluing.MOST_RINGS", 4)
    with pytest.raises(CraftError, match="At most 4 rings"):
        gluing_ics(worked(goblet()), NOW)


def test_nothing_to_glue_is_said_in_words() -> None:
    document = {**goblet(), "joints": [], "stacks": []}
    document["parts"] = document["parts"][1:]
    with pytest.raises(CraftError, match="nothing to glue"):
        gluing_ics(worked(document), NOW)


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_harmless(name: str) -> None:
    document = goblet()
    document["name"] = document["stacks"][0]["name"] = document["stacks"][0]["faceplate"] = name
    content = gluing_ics(worked(document), NOW)
    events = _events(content)
    assert len(events) == len(_events(gluing_ics(worked(goblet()), NOW)))
    lines = content.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)
    assert content.count(b"BEGIN:VEVENT") == content.count(b"\r\nBEGIN:VEVENT") == len(events)
    assert b"\x00" not in content


def test_every_kind_of_ring_can_be_scheduled() -> None:
    assert len(_events(gluing_ics(worked(every_kind()), NOW))) == 9 + 8 + 1
