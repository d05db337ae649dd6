"""Weekly habits on the calendar, and stacks that are joined as stacks of the schedule."""

from datetime import UTC, datetime, time, timedelta, timezone

from server.craft.document import parse_piece
from server.craft.glue.schedule.joins import joins_of
from server.craft.glue.schedule.weekly import Habit, stays_from
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.worked.piece import work_piece
from server.demo import demo_piece

SUMMER, WINTER = timezone(timedelta(hours=2)), timezone(timedelta(hours=1))


def local(moment: datetime) -> datetime:
    """Summer time until 25 October 2026, 03:00, then winter time."""
    zone = SUMMER if moment < datetime(2026, 10, 25, 3) else WINTER
    return moment.replace(tzinfo=zone)


def test_a_habit_comes_back_every_week_at_the_same_time_of_day():
    start = datetime(2026, 10, 19, 12, tzinfo=SUMMER)
    stays = stays_from([Habit(0, time(19), time(21, 30))], start, 15, local)
    assert stays is not None
    assert [stay.starts_at.isoformat() for stay in stays] == [
        "2026-10-19T19:00:00+02:00",
        "2026-10-26T19:00:00+01:00",
        "2026-11-02T19:00:00+01:00",
    ]
    assert {stay.ends_at - stay.starts_at for stay in stays} == {timedelta(hours=2.5)}


def test_a_stay_that_is_over_is_left_out_and_one_that_has_begun_is_not():
    habits = [Habit(0, time(9), time(11)), Habit(0, time(14), time(18))]
    start = datetime(2026, 10, 19, 15, tzinfo=SUMMER)
    stays = stays_from(habits, start, 1, local)
    assert stays is not None
    assert [stay.starts_at.hour for stay in stays] == [14]


def test_without_habits_one_is_always_there():
    assert stays_from([], datetime(2026, 1, 1, tzinfo=UTC), 10, local) is None


def test_the_demo_s_two_halves_are_joined_once_both_are_turned():
    steps = lathe_steps(work_piece(parse_piece(demo_piece())))
    times = {"s-low": (30.0, 24.0), "s-rim": (45.0, 20.0), "s-foot": (30.0, 24.0)}
    (join,) = joins_of(steps, times, 90.0)
    assert join.after == ("s-low", "s-rim")
    assert join.rings[0].press_minutes == 45
    assert join.cure_hours == 24
    assert join.turning_minutes == 90
    assert join.id in {step.id for step in steps}
    assert joins_of(steps, {}, 90.0) == []
