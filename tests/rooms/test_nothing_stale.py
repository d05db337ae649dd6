"""What is kept between views is never shown for what has changed since.

After every change each page is asked for twice: as the running server answers, and again after it
has forgotten all that it kept. Both are the same to the letter.
"""

import threading
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from live_shop import goblet
from piece_makers import beaker

from server.demo import demo_rack
from server.live.clock import Clock
from server.rooms.gluing_schedule.plans import Plans
from server.rooms.saw_bench import laying
from server.store import pieces
from server.web import floors, stock

MONDAY = datetime(2026, 11, 23, 12, 0, 10, tzinfo=UTC)
OF_A_PIECE = (
    "drawing-board",
    "drawing-board?show=ring&ring=c2",
    "saw-bench",
    "saw-bench/boards",
    "glue-bench",
    "gluing-schedule",
    "gluing-schedule?times=log",
    "lathe",
    "journal",
)
OF_THE_SHOP = ("/pieces", "/lumber-rack", "/journal", "/office", "/parts/next", "/parts/timers")


class Shop:
    """A running shop whose clock stands until it is moved on."""

    def __init__(self, app: FastAPI, client: TestClient) -> None:
        self.app, self.client, self.now = app, client, MONDAY
        app.state.clock = Clock(None, lambda: self.now, lambda: self.now.timestamp())
        floors.install(app)
        for item in demo_rack():
            client.post("/api/rack", json=item)
        self.cup = client.post("/api/pieces", json=goblet()).json()["id"]
        self.other = client.post("/api/pieces", json=beaker(4, name="Beaker")).json()["id"]
        self.said: list[str] = []

    def say(self, kind: str, subject: str, piece: str = "", **more: Any) -> None:
        self.said.append(str(uuid.uuid4()))
        line = {
            "id": self.said[-1],
            "piece": piece or self.cup,
            "kind": kind,
            "subject": subject,
            "at": self.now.isoformat(),
            **more,
        }
        reply = self.client.post("/api/ledger", json=line)
        assert reply.status_code == 200, reply.text

    def draw(self, piece: str, **change: Any) -> None:
        kept = self.client.get(f"/api/pieces/{piece}").json()
        headers = {"if-match": f'"{kept["revision"]}"'}
        reply = self.client.put(
            f"/api/pieces/{piece}", json=kept["piece"] | change, headers=headers
        )
        assert reply.status_code == 200, reply.text

    def post(self, address: str, **fields: str) -> None:
        reply = self.client.post(address, data=fields, follow_redirects=False)
        assert reply.status_code in (200, 303), reply.text

    def pages(self) -> dict[str, str]:
        self._settle()
        addresses = [*OF_THE_SHOP, *(f"/pieces/{self.cup}/{page}" for page in OF_A_PIECE)]
        return {address: self._page(address) for address in addresses} | {
            "sheet": self._page(f"/pieces/{self.cup}/glue-bench", {"HX-Request": "true"})
        }

    def forget(self) -> None:
        off = self.app.state.off
        floors.install(self.app)
        self.app.state.off = off  # when the server was off is no reading of the store
        stock.install(self.app)
        self.app.state.gluing_plans = Plans()

    def _page(self, address: str, headers: dict[str, str] | None = None) -> str:
        reply = self.client.get(address, headers=headers)
        assert reply.status_code == 200, reply.text
        return reply.text

    def _settle(self) -> None:
        """Layouts are searched for beside the pages; what they come to stands on the page."""
        self.client.get(f"/pieces/{self.cup}/saw-bench/boards")
        for thread in threading.enumerate():
            if thread.name == "cutting-layout":
                thread.join()


@pytest.fixture
def shop(app: FastAPI, client: TestClient, monkeypatch: pytest.MonkeyPatch) -> Shop:
    # Any layout will do: what is looked at is whether pages tell of it.
    monkeypatch.setattr(laying, "TIME_LIMIT_S", 0.2)
    return Shop(app, client)


IN_PRESS = {"stack": "low", "faceplate": "A", "minutes": 30, "rest_minutes": 60}
HOURS = {f"from-{day}": "18:00" for day in range(7)} | {f"to-{day}": "22:00" for day in range(7)}


def later(shop: Shop, **by: float) -> None:
    shop.now += timedelta(**by)


DAYS: tuple[tuple[str, Callable[[Shop], None]], ...] = (
    ("a tick", lambda s: s.say("dry-fitted", "c1")),
    ("a segment cut", lambda s: s.say("cut", "c1", data={"count": 12, "wood": "walnut-black"})),
    ("a press", lambda s: s.say("clamped", "c1", data=IN_PRESS)),
    ("ten seconds on", lambda s: later(s, seconds=10)),
    ("the press is over", lambda s: later(s, minutes=31)),
    ("out of it", lambda s: s.say("released", "c1", data=IN_PRESS)),
    ("the rest is over, no line of it", lambda s: later(s, minutes=61)),
    ("taken back", lambda s: s.say("undone", "c1", undoes=s.said[-1])),
    ("hours kept", lambda s: s.post(f"/pieces/{s.cup}/gluing-schedule", **_habits("1"))),
    ("two presses", lambda s: s.post(f"/pieces/{s.cup}/gluing-schedule", **_habits("2"))),
    ("the next morning", lambda s: later(s, hours=20)),
    ("a cold shop", lambda s: s.say("measured", "room", data=_measured("temperature_c", 6))),
    ("a step at the lathe", lambda s: s.say("turned", "foot:face", part="foot")),
    ("another name", lambda s: s.draw(s.cup, name="Ebb goblet")),
    ("another kerf", lambda s: s.draw(s.cup, saw={"blade_kerf_mm": 3.3})),
    ("another piece drawn", lambda s: s.draw(s.other, name="Pail")),
    ("another piece's tick", lambda s: s.say("dry-fitted", "r1", s.other)),
    ("its press", lambda s: s.say("clamped", "r1", s.other, data={"stack": "s", "minutes": 9})),
    ("another piece put away", lambda s: s.post(f"/pieces/{s.other}/archive")),
    ("a board bought", lambda s: s.client.post("/api/rack", json=_board()).raise_for_status()),
)


def _habits(presses: str) -> dict[str, str]:
    return {"presses": presses, "turning_minutes": "60", **HOURS}


def _measured(quantity: str, value: float) -> dict[str, Any]:
    return {"quantity": quantity, "value": value}


def _board() -> dict[str, Any]:
    sizes = {"length_mm": 900, "width_mm": 150, "thickness_mm": 30}
    return {"kind": "board", "wood": "walnut-black", "count": 1, **sizes}


def test_no_page_shows_what_was_before(shop: Shop) -> None:
    before = shop.pages()
    for words, change in DAYS:
        change(shop)
        running = shop.pages()
        assert running != before, f"{words}: no page told of it"
        shop.forget()
        afresh = shop.pages()
        stale = [address for address, page in running.items() if afresh[address] != page]
        assert not stale, f"{words}: {stale}"
        before = running


def test_looking_changes_nothing_that_is_kept(shop: Shop) -> None:
    shop.say("clamped", "c1", data=IN_PRESS)
    shop.pages()
    with shop.app.state.store.read() as session:
        as_saved = pieces.list_pieces(session)
    assert shop.app.state.kept.get(pieces.list_pieces) == as_saved
    assert shop.app.state.kept.get(pieces.get_piece, shop.cup) in as_saved
