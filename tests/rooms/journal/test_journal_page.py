"""The journal: every kind of line in words, search, groups, pages, undo, the table."""

import csv
import io
import re
import uuid
from datetime import UTC, datetime, timedelta
from html import unescape
from typing import Any

import pytest
from fastapi.testclient import TestClient
from live_shop import goblet

from server.craft.ledger import Entry, Kind
from server.rooms.journal.book import PAGE_LINES, days_of, found, lines_of, page_of, taken_back
from server.rooms.journal.names import Names
from server.rooms.journal.telling import told

NOW = datetime(2026, 5, 2, 18, 30, tzinfo=UTC)
NAMES = Names(
    "p",
    "Orchard goblet",
    "mm",
    {"b1": "ring 1"},
    {"bowl:rim": "True the rim, Bowl"},
    {"low": "Lower on A", "j1": "the joint of Stem and Bowl"},
    {"pva-yellow": "yellow PVA"},
    {"board-7": "sapele board"},
)


def entry(kind: Kind, subject: str, seq: int = 1, hours: float = 0, **more: Any) -> Entry:
    at = NOW + timedelta(hours=hours)
    return Entry(
        id=f"e{seq}", seq=seq, piece="p", kind=kind, subject=subject, at=at, received_at=at, **more
    )


@pytest.mark.parametrize(
    ("kind", "subject", "data", "words"),
    [
        (Kind.CUT, "b1", {"count": 12, "broken": 1}, "12 segments of ring 1 cut, 1 broken"),
        (Kind.CUT, "b1", {"count": 1}, "1 segment of ring 1 cut"),
        (Kind.CUT, "b1", {"count": 12, "strip": "b1/spacer"}, "12 spacers of ring 1 cut"),
        (Kind.CUT, "bowl", {"count": 1, "strip": "bowl/spindle"}, "1 blank of bowl cut"),
        (Kind.CUT, "b1", {"broken": 2}, "2 broken, ring 1"),
        (Kind.DRY_FITTED, "b1", {}, "Ring 1 fits dry"),
        (Kind.HALVES_GLUED, "b1", {"minutes": 20}, "Halves of ring 1 glued, 20 min"),
        (Kind.TRUED, "b1", {}, "Halves of ring 1 trued"),
        (Kind.CLOSED, "b1", {}, "Ring 1 closed"),
        (Kind.FLATTENED, "b1", {}, "Ring 1 flat"),
        (
            Kind.CLAMPED,
            "b1",
            {
                "faceplate": "A",
                "minutes": 40,
                "glue": "pva-yellow",
                "temperature_c": 18,
                "humidity_percent": 50,
            },
            "Ring 1 into the press on A, 40 min, yellow PVA, 18 °C, 50 %",
        ),
        (Kind.CLAMPED, "b1", {"add_minutes": 5}, "5 min more in the press for ring 1"),
        (Kind.RELEASED, "b1", {"rest_minutes": 25}, "Ring 1 out of the press, rests 25 min"),
        (Kind.RELEASED, "b1", {"cure_hours": 24}, "Ring 1 out of the press, cures 24 h"),
        (Kind.STACKED, "b1", {}, "Ring 1 on its stack"),
        (Kind.TURNED, "bowl:rim", {}, "At the lathe: True the rim, Bowl"),
        (Kind.BORED, "j1", {}, "Mortise bored, the joint of Stem and Bowl"),
        (Kind.USED, "board-7", {"count": 3}, "From the rack: sapele board, 3 pieces"),
        (Kind.USED, "other-wood", {"count": 1}, "From the rack: other wood, 1 piece"),
        (
            Kind.MEASURED,
            "j1",
            {"quantity": "mortise_diameter", "value_mm": 12.934},
            "Measured: mortise, across 12.93 mm, the joint of Stem and Bowl",
        ),
        (
            Kind.MEASURED,
            "low",
            {"quantity": "temperature_c", "value": 17.5},
            "Measured: temperature 17.5 °C, the shop",
        ),
        (Kind.PHOTO, "low", {}, "Photo, Lower on A"),
        (Kind.NOTE, "b1", {}, "Note, ring 1"),
        (Kind.UNDONE, "b1", {}, "Undone, ring 1"),
    ],
)
def test_each_kind_has_its_words(kind, subject, data, words):
    assert told(entry(kind, subject, data=data), NAMES) == words


def test_every_kind_can_be_told_without_any_data():
    for kind in Kind:
        assert told(entry(kind, "unknown"), NAMES)


def test_days_run_newest_first_and_lines_oldest_first():
    entries = [
        entry(Kind.CLOSED, "b1", 3, 24),
        entry(Kind.CUT, "b1", 1),
        entry(Kind.NOTE, "b1", 2, 1),
    ]
    days = days_of(lines_of(entries, {"p": NAMES}, UTC))
    assert [[line.entry.seq for line in day.lines] for day in days] == [[3], [1, 2]]
    assert days[0].heading == "Sunday, 3 May 2026"


def test_a_line_that_was_undone_stays_and_says_so_unless_the_undo_was_undone():
    cut = entry(Kind.CUT, "b1", 1)
    undo = entry(Kind.UNDONE, "b1", 2, undoes="e1")
    again = entry(Kind.UNDONE, "b1", 3, undoes="e2")
    assert taken_back([cut, undo]) == {"e1"}
    assert taken_back([cut, undo, again]) == {"e2"}
    first = lines_of([cut, undo], {"p": NAMES}, UTC)[0]
    assert first.taken_back


def test_a_quieted_alarm_is_no_line():
    heard = entry(Kind.NOTE, "b1", 1, data={"heard": "timer"})
    assert lines_of([heard], {"p": NAMES}, UTC) == []


def test_search_wants_every_word_in_words_note_device_piece_or_day():
    lines = lines_of(
        [
            entry(Kind.NOTE, "b1", 1, note="A hair thin here", device="Tablet"),
            entry(Kind.CLOSED, "b1", 2, device="Phone"),
        ],
        {"p": NAMES},
        UTC,
    )
    assert [line.entry.seq for line in found(lines, "thin HAIR", "")] == [1]
    assert [line.entry.seq for line in found(lines, "ring 1", "")] == [1, 2]
    assert [line.entry.seq for line in found(lines, "orchard phone", "")] == [2]
    assert [line.entry.seq for line in found(lines, "saturday may", "")] == [1, 2]
    assert found(lines, "walnut", "") == []
    assert [line.entry.seq for line in found(lines, "", "glue")] == [2]


def test_a_long_book_is_read_page_by_page():
    lines = lines_of([entry(Kind.CUT, "b1", seq) for seq in range(1, 451)], {"p": NAMES}, UTC)
    first, last = page_of(lines, 1), page_of(lines, 3)
    assert [line.entry.seq for day in first.days for line in day.lines] == list(range(251, 451))
    assert (first.older, first.newer) == (2, None)
    assert [line.entry.seq for day in last.days for line in day.lines] == list(range(1, 51))
    assert (last.older, last.newer) == (None, 2)
    assert page_of(lines, 99).number == 3
    assert page_of([], 1).days == ()
    whole = page_of(lines, None)
    assert [line.entry.seq for day in whole.days for line in day.lines] == list(range(1, 451))
    assert (whole.older, whole.newer) == (None, None)


class JournalClient:
    def __init__(self, client: TestClient) -> None:
        self.client = client
        self.piece = client.post("/api/pieces", json=goblet()).json()["id"]

    def write(self, kind: str, subject: str, **more: Any) -> str:
        line = {
            "id": str(uuid.uuid4()),
            "piece": self.piece,
            "kind": kind,
            "subject": subject,
            "at": datetime.now(UTC).isoformat(),
            **more,
        }
        assert self.client.post("/api/ledger", json=line).status_code == 200
        return line["id"]

    def words(self, address: str) -> str:
        reply = self.client.get(address)
        assert reply.status_code == 200, reply.text
        return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", reply.text)))


@pytest.fixture
def book(client: TestClient) -> JournalClient:
    return JournalClient(client)


def test_a_tick_and_a_note_stand_in_the_piece_s_journal_and_in_that_of_all(book):
    ring = goblet()["stacks"][0]["rings"][0]
    book.write("dry-fitted", ring, device="Tablet")
    book.write("note", ring, note="<b>tight</b> joints")
    own = book.words(f"/pieces/{book.piece}/journal")
    assert "fits dry" in own
    assert "<b>tight</b> joints" in own
    assert "2 lines" in own
    assert "fits dry" in book.words("/journal")


def test_an_undone_tick_is_struck_through_and_not_gone(book):
    ring = goblet()["stacks"][0]["rings"][0]
    ticked = book.write("dry-fitted", ring)
    book.write("undone", ring, undoes=ticked)
    reply = book.client.get(f"/pieces/{book.piece}/journal")
    assert re.search(r"<s>Ring \d+.*fits dry</s>", reply.text)


def test_search_by_address_and_what_is_not_found(book):
    ring = goblet()["stacks"][0]["rings"][0]
    book.write("note", ring, note="walnut dust")
    book.write("closed", ring)
    address = f"/pieces/{book.piece}/journal"
    assert "1 line found" in book.words(f"{address}?q=walnut")
    assert "1 line found" in book.words(f"{address}?group=glue")
    assert "Nothing in the journal has these words" in book.words(f"{address}?q=zebra")
    assert book.client.get(address, params={"group": "nonsense", "page": "-4"}).status_code == 200


def test_a_long_book_can_be_had_on_one_page_to_print(book):
    ring = goblet()["stacks"][0]["rings"][0]
    for number in range(PAGE_LINES + 5):
        book.write("note", ring, note=f"chip {number}")
    address = f"/pieces/{book.piece}/journal"
    assert "chip 4 " not in book.words(address)
    link = re.search(r'href="([^"]+)">All on one page', book.client.get(address).text)
    assert link is not None
    whole = book.client.get(unescape(link[1])).text
    assert len(re.findall("chip [0-9]+", whole)) == PAGE_LINES + 5
    assert "All on one page" not in whole
    # What asks for itself again stays the page that it is.
    assert f'hx-get="{address}?whole=1"' in whole
    assert f'hx-get="{address}?page=2"' in book.client.get(f"{address}?page=2").text


def test_an_empty_book_says_what_will_stand_in_it(book):
    assert "Nothing has happened yet" in book.words(f"/pieces/{book.piece}/journal")
    assert book.client.get("/pieces/nowhere/journal").status_code == 404


def test_the_table_has_one_row_a_line_and_no_formula(book):
    ring = goblet()["stacks"][0]["rings"][0]
    book.write("measured", ring, data={"quantity": "stack_height", "value_mm": 44.25})
    book.write("note", ring, note="=HYPERLINK(1)")
    reply = book.client.get(f"/pieces/{book.piece}/journal.csv")
    assert reply.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(reply.text)))
    assert [row["kind"] for row in rows] == ["measured", "note"]
    assert float(rows[0]["value"]) == 44.25
    assert rows[0]["quantity"] == "stack_height"
    assert not rows[1]["note"].startswith("=")
    assert len(list(csv.DictReader(io.StringIO(book.client.get("/journal.csv").text)))) == 2
