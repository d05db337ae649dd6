"""After a slip: as few rings as possible go to another evening, and tonight stays as it was."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.glue.schedule import (
    PressStep,
    Progress,
    RingPress,
    ShopHours,
    StackToGlue,
    gluing_schedule,
    replanned,
)

START = datetime(2026, 3, 2, 18, tzinfo=UTC)
DAY = 1440


def stack(name: str, count: int, press: float, rest: float, cure_hours: float = 12) -> StackToGlue:
    return StackToGlue(
        name, tuple(RingPress(f"{name}{j}", press, rest) for j in range(count)), cure_hours
    )


def evenings(count: int, length: int = 150) -> list[ShopHours]:
    days = [START + timedelta(days=day) for day in range(count)]
    return [ShopHours(day, day + timedelta(minutes=length)) for day in days]


def evening_of(step: PressStep) -> int:
    return (step.starts_at - START).days


def at(minute: float) -> datetime:
    return START + timedelta(minutes=minute)


def left_of(stacks: list[StackToGlue], progress: Progress) -> list[StackToGlue]:
    """What is left, worked out here again: rings gone, and the rest after the last of them."""
    gone = {**progress.out, **progress.pressing}
    left = []
    for one in stacks:
        done = [ring for ring in one.rings if (one.id, ring.id) in gone]
        rings = tuple(ring for ring in one.rings if ring not in done)
        begin = None
        if done and rings:
            begin = gone[one.id, done[-1].id] + timedelta(minutes=done[-1].rest_minutes)
        left.append(replace(one, rings=rings, not_before=begin))
    return left


def test_without_a_slip_nothing_changes():
    stacks = [stack("a", 5, 40, 60), stack("b", 4, 30, 45), stack("c", 6, 35, 30)]
    hours = evenings(20)
    plan = gluing_schedule(stacks, 1, hours, START)
    out = {(s.stack, s.ring): s.ends_at for s in plan.steps if s.ends_at <= at(DAY)}
    again = replanned(stacks, 1, hours, plan.steps, Progress(out), at(DAY))
    assert again.moved == ()
    assert again.steps == tuple(step for step in plan.steps if step.starts_at >= at(DAY))
    assert again.finish == plan.finish


def test_a_late_ring_pushes_the_evening_and_moves_nothing_that_still_fits():
    stacks = [stack("a", 3, 40, 20), stack("b", 3, 30, 20)]
    hours = evenings(10, 180)
    plan = gluing_schedule(stacks, 1, hours, START)
    first = plan.steps[0]
    slipped = first.ends_at + timedelta(minutes=5)
    progress = Progress(pressing={(first.stack, first.ring): slipped})
    again = replanned(stacks, 1, hours, plan.steps, progress, first.ends_at)
    tonight = [s.ring for s in plan.steps[1:] if evening_of(s) == 0]
    still = [s.ring for s in again.steps if evening_of(s) == 0]
    assert tonight[: len(still)] == still
    assert min(s.starts_at for s in again.steps) >= slipped


def test_a_lost_evening_moves_no_stack_that_had_room():
    # Stack a fills every evening it is on; b has one ring on the fourth evening only.
    lone = replace(stack("b", 1, 30, 0), not_before=at(3 * DAY))
    stacks = [stack("a", 3, 100, 0), lone]
    hours = evenings(12)
    plan = gluing_schedule(stacks, 1, hours, START)
    assert {s.ring: evening_of(s) for s in plan.steps} == {"a0": 0, "a1": 1, "a2": 2, "b0": 3}
    again = replanned(stacks, 1, hours, plan.steps, Progress(), at(150))
    assert {s.ring: evening_of(s) for s in again.steps} == {"a0": 1, "a1": 2, "a2": 3, "b0": 3}
    assert set(again.moved) == {("a", "a0"), ("a", "a1"), ("a", "a2")}


def test_a_stack_that_is_all_pressed_is_ready_when_it_was():
    stacks = [stack("a", 1, 30, 0), stack("b", 2, 30, 0)]
    plan = gluing_schedule(stacks, 1, None, START)
    progress = Progress(out={("a", "a0"): at(30)})
    again = replanned(stacks, 1, None, plan.steps, progress, at(40 * 60))
    assert again.ready["a"] == at(30) + timedelta(hours=12)
    assert [s.ring for s in again.steps] == ["b0", "b1"]


def test_without_hours_a_ring_has_moved_when_it_is_on_another_day():
    stacks = [stack("a", 2, 60, 600)]
    plan = gluing_schedule(stacks, 1, None, START)
    assert [s.starts_at for s in plan.steps] == [at(0), at(660)]
    again = replanned(stacks, 1, None, plan.steps, Progress(pressing={("a", "a0"): at(90)}), at(61))
    assert again.moved == ()
    late = Progress(pressing={("a", "a0"): at(2000)})
    assert replanned(stacks, 1, None, plan.steps, late, at(61)).moved == (("a", "a1"),)


small = st.lists(st.tuples(st.integers(1, 3), st.sampled_from([50, 75])), min_size=1, max_size=2)


@settings(max_examples=20, deadline=None)
@given(small, st.sampled_from([0, 20, 70]))
def test_the_fewest_rings_move_by_an_exhaustive_search(drawn, late):
    """Every assignment of the rings left to four evenings is tried; press 150 minutes each."""
    stacks = [stack(f"s{i}", count, press, 0, 0) for i, (count, press) in enumerate(drawn)]
    hours = evenings(4)
    plan = gluing_schedule(stacks, 1, hours, START)
    first = plan.steps[0]
    progress = Progress(
        pressing={(first.stack, first.ring): first.ends_at + timedelta(minutes=late)}
    )
    again = replanned(stacks, 1, hours, plan.steps, progress, first.ends_at, worth_minutes=10 * DAY)
    left = [s for s in plan.steps if s is not first]
    room = [150 - (first.ends_at - START).total_seconds() / 60 - late, 150, 150, 150]
    fewest = min(
        _moves(chosen, left)
        for chosen in product(range(4), repeat=len(left))
        if _possible(chosen, left, room)
    )
    assert len(again.moved) == fewest


def _moves(chosen: tuple[int, ...], left: list[PressStep]) -> int:
    return sum(day != evening_of(step) for day, step in zip(chosen, left, strict=True))


def _possible(chosen: tuple[int, ...], left: list[PressStep], room: list[float]) -> bool:
    """Without rests, rings fit when their minutes do and each stack keeps its order."""
    used = [0.0] * 4
    latest: dict[str, int] = {}
    for day, step in zip(chosen, left, strict=True):
        used[day] += (step.ends_at - step.starts_at).total_seconds() / 60
        if day < latest.get(step.stack, 0):
            return False
        latest[step.stack] = day
    return all(a <= b for a, b in zip(used, room, strict=True))


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(1, 6), st.sampled_from([20, 45]), st.sampled_from([0, 60])),
        min_size=2,
        max_size=4,
    ),
    st.integers(0, 8),
    st.sampled_from([0, 15, 40]),
)
def test_every_replan_passes_the_checker(schedule_faults, drawn, done, late):
    stacks = [stack(f"s{i}", count, press, rest) for i, (count, press, rest) in enumerate(drawn)]
    hours = evenings(40)
    plan = gluing_schedule(stacks, 1, hours, START)
    current = plan.steps[min(done, len(plan.steps) - 1)]
    out = {(s.stack, s.ring): s.ends_at for s in plan.steps if s.ends_at <= current.starts_at}
    until = current.ends_at + timedelta(minutes=late)
    progress = Progress(out, {(current.stack, current.ring): until})
    again = replanned(stacks, 1, hours, plan.steps, progress, current.ends_at)
    left = left_of(stacks, progress)
    ready = {one.id: again.ready[one.id] for one in left if one.rings}
    finish = max(ready.values(), default=current.ends_at)
    own = replace(again, ready=ready, finish=finish, bound=min(again.bound, finish))
    active = [one for one in left if one.rings]
    assert schedule_faults(active, 1, hours, current.ends_at, own) == []
    for one in active:
        begin = min(s.starts_at for s in again.steps if s.stack == one.id)
        assert one.not_before is None or begin >= one.not_before
    evening = {(s.stack, s.ring): evening_of(s) for s in plan.steps}
    elsewhere = {
        (s.stack, s.ring) for s in again.steps if evening_of(s) != evening[s.stack, s.ring]
    }
    assert set(again.moved) == elsewhere
