"""Gluing schedules against an independent checker and an exhaustive search."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.errors import FieldError
from server.craft.glue.schedule import (
    GluingSchedule,
    RingPress,
    ShopHours,
    StackToGlue,
    gluing_schedule,
)

START = datetime(2026, 3, 2, 18, tzinfo=UTC)


def stack(
    name: str, presses: list[int], rests: list[int], cure_hours: float = 0, **more: object
) -> StackToGlue:
    rings = tuple(
        RingPress(f"{name}{j}", p, r) for j, (p, r) in enumerate(zip(presses, rests, strict=True))
    )
    return StackToGlue(name, rings, cure_hours, **more)  # type: ignore[arg-type]


def stay(begin: int, end: int) -> ShopHours:
    return ShopHours(START + timedelta(minutes=begin), START + timedelta(minutes=end))


def minutes(moment: datetime) -> float:
    return (moment - START).total_seconds() / 60


def starts(plan: GluingSchedule) -> dict[str, float]:
    return {step.ring: minutes(step.starts_at) for step in plan.steps}


tiny_stacks = st.lists(
    st.tuples(
        st.lists(st.tuples(st.integers(1, 7), st.integers(0, 9)), min_size=1, max_size=3),
        st.sampled_from([0, 0.1, 0.2, 0.5]),
    ),
    min_size=1,
    max_size=3,
).filter(lambda drawn: sum(len(rings) for rings, _ in drawn) <= 7)
tiny_hours = st.none() | st.lists(
    st.tuples(st.integers(0, 60), st.integers(7, 25)), min_size=1, max_size=5
)


def built(drawn: list[tuple[list[tuple[int, int]], float]]) -> list[StackToGlue]:
    return [
        stack(f"s{i}", [p for p, _ in rings], [r for _, r in rings], cure)
        for i, (rings, cure) in enumerate(drawn)
    ]


@settings(max_examples=120, deadline=None)
@given(tiny_stacks, tiny_hours, st.integers(1, 2))
def test_small_cases_reach_the_optimum_of_an_exhaustive_search(
    schedule_faults, exhaustive_finish, drawn, spans, presses
):
    stacks = built(drawn)
    hours = None if spans is None else [stay(a, a + n) for a, n in spans]
    best = exhaustive_finish(stacks, presses, hours, START, 140)
    if best is None:
        with pytest.raises(FieldError):
            gluing_schedule(stacks, presses, hours, START)
        return
    plan = gluing_schedule(stacks, presses, hours, START)
    assert schedule_faults(stacks, presses, hours, START, plan) == []
    assert plan.bound <= best
    assert plan.finish == best
    assert plan.proven


longer_stacks = st.lists(
    st.tuples(
        st.lists(
            st.tuples(st.sampled_from([0, 15, 20, 45, 60]), st.sampled_from([0, 30, 240])),
            min_size=0,
            max_size=8,
        ),
        st.sampled_from([0, 12, 24.5]),
    ),
    max_size=6,
)


@settings(max_examples=40, deadline=None)
@given(longer_stacks, st.integers(1, 4), st.booleans(), st.integers(60, 200))
def test_every_schedule_passes_the_checker(schedule_faults, drawn, presses, always, length):
    stacks = built(drawn)
    hours = None if always else [stay(d * 1440, d * 1440 + length) for d in range(60)]
    plan = gluing_schedule(stacks, presses, hours, START)
    assert schedule_faults(stacks, presses, hours, START, plan) == []


@settings(max_examples=25, deadline=None)
@given(longer_stacks.filter(lambda drawn: len(drawn) >= 2), st.integers(1, 2))
def test_joined_stacks_wait_for_both_and_for_the_lathe(schedule_faults, drawn, presses):
    stacks = built(drawn)
    stacks.append(stack("join", [60], [0], 24, after=("s0", "s1"), turning_minutes=90.0))
    hours = [stay(d * 1440, d * 1440 + 180) for d in range(60)]
    plan = gluing_schedule(stacks, presses, hours, START)
    assert schedule_faults(stacks, presses, hours, START, plan) == []


def test_the_press_waits_for_the_stack_that_takes_longest_in_all():
    # a: 30, rest 60, 30 and a day; b: one ring of 50. Putting b in first costs a 20 minutes,
    # b into the rest of a costs nothing.
    plan = gluing_schedule(
        [stack("b", [50], [0]), stack("a", [30, 30], [60, 0], 24)], 1, None, START
    )
    assert starts(plan) == {"a0": 0, "b0": 30, "a1": 90}
    assert minutes(plan.finish) == 120 + 24 * 60
    assert plan.proven


def test_a_second_press_helps_two_stacks_but_not_one():
    one = [stack("a", [30, 30], [10, 0])]
    two = [*one, stack("b", [30, 30], [10, 0])]
    # One press serves a and b in turn without a pause: 4 × 30 minutes.
    assert minutes(gluing_schedule(one, 3, None, START).finish) == 70
    assert minutes(gluing_schedule(two, 1, None, START).finish) == 120
    assert minutes(gluing_schedule(two, 2, None, START).finish) == 70


def test_stays_that_touch_or_overlap_are_not_run_together():
    one = [stack("a", [50], [0])]
    with pytest.raises(FieldError, match="50 min") as caught:
        gluing_schedule(one, 1, [stay(0, 40), stay(40, 80), stay(60, 100)], START)
    assert "40 min" in caught.value.message
    plan = gluing_schedule(one, 1, [stay(0, 40), stay(30, 80), stay(30, 60)], START)
    assert starts(plan) == {"a0": 30}


def test_a_stay_that_has_begun_counts_from_now_on():
    plan = gluing_schedule([stack("a", [50], [0])], 1, [stay(-30, 40), stay(500, 560)], START)
    assert starts(plan) == {"a0": 500}


def test_no_schedule_of_its_own_for_no_hours_at_all():
    with pytest.raises(FieldError) as caught:
        gluing_schedule([stack("a", [50], [0])], 1, [], START)
    assert caught.value.path == "/hours"


def test_stacks_that_wait_for_each_other_are_refused():
    circle = [stack("a", [5], [0], after=("b",)), stack("b", [5], [0], after=("a",))]
    with pytest.raises(FieldError, match="circle"):
        gluing_schedule(circle, 1, None, START)


def test_a_stack_may_not_begin_before_it_can():
    later = stack("a", [10], [0], not_before=START + timedelta(minutes=33))
    assert starts(gluing_schedule([later], 1, None, START)) == {"a0": 33}


def test_a_search_cut_short_still_has_a_plan_and_a_true_bound(schedule_faults):
    stacks = [
        stack(f"s{i}", [20 + 5 * ((i + j) % 4) for j in range(6)], [45] * 6, 12) for i in range(6)
    ]
    hours = [stay(d * 1440, d * 1440 + 170) for d in range(80)]
    hasty = gluing_schedule(stacks, 1, hours, START, give_up=lambda: True)
    assert schedule_faults(stacks, 1, hours, START, hasty) == []
    assert hasty.bound <= gluing_schedule(stacks, 1, hours, START).finish <= hasty.finish


def test_the_same_stacks_have_the_same_schedule():
    stacks = [stack(f"s{i}", [25, 40, 35, 20], [60] * 4, 12) for i in range(6)]
    hours = [stay(d * 1440, d * 1440 + 150) for d in range(40)]
    assert gluing_schedule(stacks, 1, hours, START) == gluing_schedule(stacks, 1, hours, START)
