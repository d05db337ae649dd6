"""A schedule told backwards: a plan where an exhaustive search has one, and none elsewhere."""

from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from server.craft.glue.schedule import RingPress, ShopHours, StackToGlue, gluing_schedule
from server.craft.glue.schedule.front import Asked, never, posed
from server.craft.glue.schedule.mirror import mirrored, read_backwards
from server.craft.glue.schedule.serve import Table, spans_of
from server.craft.glue.schedule.sweep import Sweep

START = datetime(2026, 3, 2, 18, tzinfo=UTC)
WIDE, WORK = 4_000, 1_000_000

drawn_stacks = st.lists(
    st.tuples(
        st.lists(st.tuples(st.integers(1, 7), st.integers(0, 9)), min_size=1, max_size=3),
        st.sampled_from([0, 0.1, 0.5]),
    ),
    min_size=1,
    max_size=3,
).filter(lambda drawn: sum(len(rings) for rings, _ in drawn) <= 6)
drawn_hours = st.none() | st.lists(
    st.tuples(st.integers(0, 60), st.integers(7, 25)), min_size=1, max_size=4
)


def built(drawn: list[Any]) -> list[StackToGlue]:
    return [
        StackToGlue(
            f"s{i}", tuple(RingPress(f"{i}.{j}", p, r) for j, (p, r) in enumerate(rings)), cure
        )
        for i, (rings, cure) in enumerate(drawn)
    ]


def stay(begin: int, length: int) -> ShopHours:
    opens = START + timedelta(minutes=begin)
    return ShopHours(opens, opens + timedelta(minutes=length))


@settings(max_examples=15, deadline=None, derandomize=True)
@given(drawn_stacks, drawn_hours, st.integers(1, 2))
def test_backwards_there_is_a_plan_just_when_there_is_one(
    schedule_faults, exhaustive_finish, drawn, spans, presses
):
    stacks = built(drawn)
    hours = None if spans is None else [stay(a, n) for a, n in spans]
    best = exhaustive_finish(stacks, presses, hours, START, 140)
    assume(best is not None)
    ticks, problem = posed(Asked(tuple(stacks), presses, hours, START))
    finish = ticks.at(best)
    for target in (finish - 1, finish):
        back = mirrored(problem, target)
        found = None if back is None else Sweep(*back, WIDE).run(never, WORK)
        assert found is None or found.whole
        if target < finish:
            assert found is None or found.starts is None
            continue
        assert back is not None
        assert found is not None
        assert found.starts is not None
        spans_found = spans_of(Table(problem), read_backwards(back[0], found.starts, finish))
        assert len(spans_found) == problem.ring_count
        assert all(problem.hours.window_of(span.start, span.end) >= 0 for span in spans_found)
        assert max(s.end + problem.chains[s.chain].cure for s in spans_found) <= finish


def test_what_is_impossible_in_the_last_evening_is_proven():
    # By hand: two evenings of 60 minutes, 120 minutes of pressing, so that room there is. But both
    # stacks end with a ring of 40 minutes after a rest of a night: 80 minutes on one evening.
    stacks = [
        StackToGlue(name, (RingPress(f"{name}0", 20, 600), RingPress(f"{name}1", 40, 0)), 0)
        for name in ("a", "b")
    ]
    hours = [stay(day * 1440, 60) for day in range(4)]
    plan = gluing_schedule(stacks, 1, hours, START)
    assert plan.finish == START + timedelta(days=2, minutes=40)
    assert plan.proven
