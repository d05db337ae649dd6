"""A plan is kept for as long as all that it stands on is the same, and not a minute longer."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from server.craft.document import parse_piece
from server.craft.document.kept_shop import GluingHabits, WeeklyStay
from server.craft.ledger import Entry, Kind
from server.craft.planned import work_out
from server.demo import demo_piece
from server.rooms.gluing_schedule import plans as kept_plans
from server.rooms.gluing_schedule.planning import Asked, scheduled
from server.rooms.gluing_schedule.plans import GUARD_SECONDS, Plans

MONDAY = datetime(2026, 11, 23, 12, 0, 40).astimezone()
EVENINGS = GluingHabits(
    stays=tuple(WeeklyStay(day=day, starts="19:00", ends="21:30") for day in range(5))
)
DRAWING = ("goblet", 1)
ASKED = Asked(work_out(parse_piece(demo_piece())), (), EVENINGS, MONDAY)


def local(moment: datetime) -> datetime:
    return moment.replace(tzinfo=MONDAY.tzinfo)


def line(kind: Kind, at: datetime, seq: int = 1) -> Entry:
    data = {"stack": "s-low", "minutes": 30, "rest_minutes": 30, "cure_hours": 24}
    return Entry(f"e{seq}", "p", kind, "b1", at, data=data, seq=seq, received_at=at)


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """The moments from which a plan was worked out."""
    moments: list[datetime] = []

    def counted(asked: Asked, *more: Any) -> Any:
        moments.append(asked.now)
        return scheduled(asked, *more)

    monkeypatch.setattr(kept_plans, "scheduled", counted)
    return moments


def test_within_a_minute_it_is_worked_out_once_from_where_the_minute_begins(solved) -> None:
    plans = Plans()
    first = plans.plan(DRAWING, ASKED, local)
    assert plans.plan(DRAWING, ASKED.at(MONDAY + timedelta(seconds=19)), local) is first
    assert solved == [MONDAY.replace(second=0)]
    plans.plan(DRAWING, ASKED.at(MONDAY + timedelta(seconds=20)), local)
    assert solved[1:] == [MONDAY.replace(minute=1, second=0)]


@pytest.mark.parametrize(
    ("drawing", "change"),
    [
        (("goblet", 2), {}),
        (("bowl", 1), {}),
        (DRAWING, {"entries": (line(Kind.CLAMPED, MONDAY),)}),
        (DRAWING, {"habits": EVENINGS.model_copy(update={"presses": 2})}),
        (DRAWING, {"pace": (("s-low", (45.0, 30.0, 24.0)),)}),
    ],
)
def test_it_is_worked_out_again_when_anything_it_stands_on_changes(
    solved, drawing: tuple[str, int], change: dict[str, Any]
) -> None:
    plans = Plans()
    plans.plan(DRAWING, ASKED, local)
    asked = replace(ASKED, **change)
    found = plans.plan(drawing, asked, local)
    assert len(solved) == 2
    assert found == scheduled(asked.at(MONDAY.replace(second=0)), local, lambda: False)


def test_a_line_in_place_of_another_is_another_ledger(solved) -> None:
    plans = Plans()
    for seq in (1, 2):
        plans.plan(DRAWING, replace(ASKED, entries=(line(Kind.CLAMPED, MONDAY, seq),)), local)
    assert len(solved) == 2


def test_the_mornings_plan_is_kept_for_its_day_and_its_ledger() -> None:
    plans, tuesday = Plans(), MONDAY + timedelta(days=1)
    pressed = [line(Kind.CLAMPED, tuesday), line(Kind.RELEASED, tuesday + timedelta(minutes=30), 2)]
    for count, now in ((1, tuesday), (2, tuesday + timedelta(hours=8)), (2, tuesday)):
        for days in (0, 1):
            asked = replace(
                ASKED, entries=tuple(pressed[:count]), now=now + timedelta(days=days, hours=1)
            )
            known = plans.plan(DRAWING, asked, local)
            anew = scheduled(asked.at(asked.now.replace(second=0)), local, lambda: False)
            assert known == anew


def test_a_search_cut_short_is_not_kept(solved) -> None:
    seconds = [0.0]

    def slow() -> float:
        seconds[0] += GUARD_SECONDS + 1
        return seconds[0]

    plans = Plans(slow)
    plans.plan(DRAWING, ASKED, local)
    plans.plan(DRAWING, ASKED, local)
    assert len(solved) == 2
