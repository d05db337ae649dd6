"""The clock: never back, held while it is wrong, and it says so."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from server.live.clock import TOLERANCE, Clock

START = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)


class Hands:
    """A wall clock and a steady one, moved by the test."""

    def __init__(self) -> None:
        self.at, self.ran = START, 0.0

    def pass_time(self, seconds: float, wall_seconds: float | None = None) -> None:
        self.ran += seconds
        self.at += timedelta(seconds=seconds if wall_seconds is None else wall_seconds)

    def clock(self, last_seen: datetime | None = None) -> Clock:
        return Clock(last_seen, wall=lambda: self.at, steady=lambda: self.ran)


def test_it_tells_the_time() -> None:
    hands = Hands()
    clock = hands.clock()
    hands.pass_time(90)
    assert clock() == START + timedelta(seconds=90)
    assert (clock.held, clock.words(), clock.behind_seconds) == (False, None, 0)


def test_started_in_the_past_it_stands_still_until_the_clock_is_right() -> None:
    hands = Hands()
    seen = START + timedelta(days=400)
    clock = hands.clock(seen)
    for _ in range(3):
        hands.pass_time(3600)
        assert clock() == seen
        assert clock.held
    assert "Timers stand still" in (clock.words() or "")
    assert clock.behind_seconds == (seen - hands.at).total_seconds()
    hands.at = seen + timedelta(hours=1)
    assert clock() == hands.at
    assert not clock.held


def test_set_back_while_running_it_stands_still() -> None:
    hands = Hands()
    clock = hands.clock()
    hands.pass_time(60)
    before = clock()
    hands.pass_time(10, wall_seconds=-7200)
    assert clock() == before
    assert clock.held
    clock.believe()
    assert clock() == hands.at
    assert not clock.held


def test_a_jump_forward_is_said_and_a_night_is_not() -> None:
    hands = Hands()
    clock = hands.clock()
    hands.pass_time(8 * 3600)  # the computer slept; the steady clock counts that too
    clock()
    assert clock.words() is None
    hands.pass_time(1, wall_seconds=61 + 1 + 1)
    clock()
    assert "jumped forward" in (clock.words() or "")
    assert not clock.held


def test_trimming_by_the_network_is_nothing() -> None:
    hands = Hands()
    clock = hands.clock()
    clock()
    hands.pass_time(1, wall_seconds=-2)
    clock()
    assert (clock.held, clock.words()) == (False, None)


@given(st.lists(st.tuples(st.floats(0, 1e5), st.floats(-1e5, 1e5)), max_size=30))
def test_whatever_the_wall_clock_does_time_never_runs_back(
    steps: list[tuple[float, float]],
) -> None:
    hands = Hands()
    clock = hands.clock()
    last = clock()
    for seconds, wall in steps:
        hands.pass_time(seconds, wall)
        now = clock()
        assert now >= last
        assert now >= hands.at
        assert clock.held == (hands.at < now - TOLERANCE)
        last = now
