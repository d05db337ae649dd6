"""The gluing schedule's page: hours kept, rings on stays, replanned after a slip, the calendar."""

import re
import uuid
from datetime import datetime, timedelta
from html import unescape
from itertools import pairwise
from typing import Any

import pytest
from fastapi.testclient import TestClient
from icalendar import Calendar

from server.craft.document import parse_piece
from server.craft.document.kept_shop import GluingHabits, WeeklyStay
from server.craft.ledger import Entry, Kind
from server.craft.planned import work_out
from server.demo import demo_piece
from server.exports.drawing import Text
from server.rooms.gluing_schedule.chart import WIDTH, Block, chart
from server.rooms.gluing_schedule.planning import Asked, scheduled

MONDAY = datetime(2026, 11, 23, 12).astimezone()
EVENINGS = GluingHabits(
    stays=tuple(WeeklyStay(day=day, starts="19:00", ends="21:30") for day in range(5))
)


def local(moment: datetime) -> datetime:
    return moment.replace(tzinfo=MONDAY.tzinfo)


def never() -> bool:
    return False


class Bench:
    """A ledger of the demo in the making, without a server."""

    def __init__(self) -> None:
        self.piece = parse_piece(demo_piece())
        self.planned = work_out(self.piece)
        self.entries: list[Entry] = []

    def press(self, stack: str, ring: str, at: datetime, minutes: float = 30) -> None:
        for kind, when in ((Kind.CLAMPED, at), (Kind.RELEASED, at + timedelta(minutes=minutes))):
            seq = len(self.entries) + 1
            data = {"stack": stack, "minutes": minutes, "rest_minutes": 30, "cure_hours": 24}
            self.entries.append(
                Entry(
                    id=f"e{seq}",
                    seq=seq,
                    piece="p",
                    kind=kind,
                    subject=ring,
                    at=when,
                    received_at=when,
                    data=data,
                )
            )

    def plan(self, now: datetime, habits: GluingHabits = EVENINGS) -> Any:
        return scheduled(Asked(self.planned, tuple(self.entries), habits, now), local, never)


def test_every_ring_is_pressed_inside_a_stay_and_the_join_comes_after_turning():
    bench = Bench()
    plan = bench.plan(MONDAY)
    rings = [ring.id for part in bench.piece.parts for ring in part.rings]
    assert sorted(step.ring for step in plan.steps if ":" not in step.ring) == sorted(rings)
    for step in plan.steps:
        assert step.starts_at.weekday() < 5
        assert f"{step.starts_at:%H:%M}" >= "19:00"
        assert f"{step.ends_at:%H:%M}" <= "21:30"
    join = next(step for step in plan.steps if ":join" in step.ring)
    turned = max(plan.ready["s-low"], plan.ready["s-rim"]) + timedelta(minutes=120)
    assert join.starts_at >= turned
    assert plan.finish == max(plan.ready.values())


def test_what_is_on_is_not_planned_again():
    bench = Bench()
    evening = MONDAY.replace(hour=19)
    bench.press("s-low", "b1", evening)
    plan = bench.plan(evening + timedelta(minutes=31))
    assert "b1" not in [step.ring for step in plan.steps]
    second = next(step for step in plan.steps if step.ring == "b2")
    assert second.starts_at >= evening + timedelta(minutes=60)


def test_an_evening_as_planned_moves_nothing_and_a_lost_one_only_what_it_must():
    bench = Bench()
    planned = bench.plan(MONDAY)
    tonight = [s for s in planned.steps if s.starts_at.date() == MONDAY.date()]
    for step in tonight:
        bench.press(step.stack, step.ring, step.starts_at)
    night = MONDAY.replace(hour=22)
    assert bench.plan(night).moved == ()
    lost = Bench().plan(MONDAY.replace(hour=22))
    first = {s.ring for s in planned.steps if s.starts_at.date() == MONDAY.date()}
    assert {s.ring for s in lost.steps} >= first


def test_no_stay_long_enough_is_said_on_the_page(client: TestClient):
    page = Page(client)
    page.keep({"from-0": "19:00", "to-0": "19:10"})
    said = page.words()
    assert "needs" in said
    assert "in the press in one go" in said


class Page:
    def __init__(self, client: TestClient) -> None:
        self.client = client
        reply = client.post("/api/pieces", json=demo_piece())
        assert reply.status_code == 201, reply.text
        self.piece = reply.json()["id"]
        self.path = f"/pieces/{self.piece}/gluing-schedule"

    def words(self, query: str = "") -> str:
        reply = self.client.get(self.path + query)
        assert reply.status_code == 200, reply.text
        assert " style=" not in reply.text
        return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", reply.text)))

    def keep(self, days: dict[str, str], status: int = 303, **more: str) -> str:
        form = {"presses": "1", "turning_minutes": "120", **days, **more}
        headers = {"origin": str(self.client.base_url)}
        reply = self.client.post(self.path, data=form, headers=headers, follow_redirects=False)
        assert reply.status_code == status, reply.text
        return reply.text

    def press(self, ring: str, minutes: float, ago_h: float) -> None:
        for kind, at_h in (("clamped", ago_h), ("released", ago_h - minutes / 60)):
            at = datetime.now().astimezone() - timedelta(hours=at_h)
            line = {
                "id": str(uuid.uuid4()),
                "piece": self.piece,
                "kind": kind,
                "subject": ring,
                "at": at.isoformat(),
                "data": {"stack": "s-low", "minutes": 30, "glue": "pva-yellow", "rest_minutes": 30},
            }
            assert self.client.post("/api/ledger", json=line).status_code == 200


@pytest.fixture
def page(client: TestClient) -> Page:
    return Page(client)


@pytest.mark.parametrize("hours", [1.5, 5.55, 8, 13, 24])
def test_hours_of_a_chart_stand_apart_and_a_narrow_press_has_its_letter(hours: float):
    begin = MONDAY.replace(hour=13, minute=10)
    press = Block("B 12", "B", 0, begin, begin + timedelta(minutes=30), "#c8b090")
    drawn = chart("A stay", begin, begin + timedelta(hours=hours), 1, [press])
    written = [item for item in drawn.items if isinstance(item, Text)]
    at = [item.at[0] for item in written if re.fullmatch(r"\d\d:00", item.words)]
    assert at
    assert all(right - left >= 60 for left, right in pairwise(at))
    wide = 0.5 / hours * WIDTH
    words = [item.words for item in written if item.words.startswith("B")]
    assert words == (["B 12"] if wide >= 40 else ["B"] if wide >= 20 else [])


def test_who_is_always_there_is_told_so_and_reads_the_times_that_are_planned(page: Page):
    said = page.words()
    assert "No hours are kept" in said
    first, last = re.findall(r"(\d\d:\d\d) to (\d\d:\d\d)", said)[:2]
    assert first[0] == last[0]
    page.keep(
        {f"{end}-{day}": at for day in range(7) for end, at in (("from", "08:00"), ("to", "22:00"))}
    )
    assert "No hours are kept" not in page.words()


def test_hours_are_kept_with_the_shop_and_the_plan_follows(page: Page):
    assert "rings to press; all cured" in page.words()
    page.keep({"from-2": "18:30", "to-2": "21:00"})
    kept = page.client.get("/api/shop").json()["gluing"]
    assert kept["stays"] == [{"day": 2, "starts": "18:30", "ends": "21:00"}]
    said = page.words()
    assert "Wednesday" in said
    assert "18:30 to 21:00" in said


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ({"from-0": "7 pm", "to-0": "21:00"}, "A time of day like 19:00."),
        ({"from-0": "19:00"}, "A time of day like 19:00."),
        ({"from-0": "21:00", "to-0": "19:00"}, "This is before you come."),
    ],
)
def test_hours_that_are_none_are_said_beside_the_field(page: Page, days, words):
    text = page.keep(days, status=422)
    assert words in text
    assert "Not kept." in text
    assert days["from-0"] in text
    assert page.client.get("/api/shop").json().get("gluing", {}).get("stays", []) == []


def test_presses_that_are_none(page: Page):
    text = page.keep({}, status=422, presses="0")
    assert 'aria-invalid="true"' in text
    assert page.client.get("/api/shop").json().get("gluing", {}).get("presses", 1) == 1


def test_the_log_s_times_are_offered_once_there_are_enough(page: Page):
    assert "Times from the log" not in page.words()
    for k, ring in enumerate(("b1", "b2", "b3")):
        page.press(ring, 41, 50 - 3 * k)
    said = page.words()
    assert "Times from the log" in said
    assert "41 min press" in said
    by_log = page.words("?times=log")
    assert "Reckon with the labels" in by_log
    assert "Reckoned with the log’s times." in by_log
    assert "Reckoned with the log’s times." not in said
    headers, hours = (
        {"origin": str(page.client.base_url)},
        {"presses": "2", "turning_minutes": "90"},
    )
    kept = page.client.post(
        f"{page.path}?times=log", data=hours, headers=headers, follow_redirects=False
    )
    assert kept.headers["location"].endswith("?times=log")


def test_too_cold_for_the_glue_is_said_above_the_plan(page: Page):
    assert "Too cold in the shop" not in page.words()
    at = datetime.now().astimezone().isoformat()
    line = {
        "id": str(uuid.uuid4()),
        "piece": page.piece,
        "kind": "measured",
        "subject": "s-low",
        "at": at,
        "data": {"quantity": "temperature_c", "value": 2.0},
    }
    assert page.client.post("/api/ledger", json=line).status_code == 200
    assert "Too cold in the shop" in page.words()


def test_the_calendar_has_an_event_for_each_press(page: Page):
    reply = page.client.get(f"{page.path}.ics")
    assert reply.headers["content-type"].startswith("text/calendar")
    events = Calendar.from_ical(reply.content).walk("VEVENT")
    pressed = [event for event in events if str(event["summary"]).startswith("Press")]
    assert len(pressed) == sum(len(stack["rings"]) for stack in demo_piece()["stacks"])
    assert "Press ring 1 on Bowl, lower (A)" in [str(event["summary"]) for event in pressed]
    ends = [str(event["summary"]) for event in events if "DTEND" not in event]
    stacks = {stack["id"] for stack in demo_piece()["stacks"]}
    assert len(ends) == len(stacks) + 1, "the join of the two stacks of the bowl cures too"
    assert len([event for event in events if "DTEND" in event]) == len(pressed) + 1


def test_an_unknown_piece_has_no_schedule(client: TestClient):
    assert client.get("/pieces/nowhere/gluing-schedule").status_code == 404
