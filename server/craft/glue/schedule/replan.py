"""After a slip: the plan again from what really happened, moving as few rings as need be."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import numpy as np

from server.craft.glue.schedule.bounds import latest_ends
from server.craft.glue.schedule.dates import Ticks
from server.craft.glue.schedule.evolve import goal_for
from server.craft.glue.schedule.fewest import Fewest, few_possible
from server.craft.glue.schedule.front import Asked, never, posed, told
from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.keep import Old, keep_most
from server.craft.glue.schedule.order import GluingSchedule, PressStep, ShopHours, StackToGlue
from server.craft.glue.schedule.problem import Problem
from server.craft.glue.schedule.serve import Ints, Table, spans_of
from server.craft.glue.schedule.solve import Search, solve

_SEED = 11
_EFFORT = 0.4
_WORK = 350_000
_WORK_AFTER = 60_000
_FEWEST, _MOST = 2, 120
_DAYS_AHEAD = 4_000

RingKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Progress:
    """What really happened: when rings came out of the press, and when those in one will."""

    out: Mapping[RingKey, datetime] = field(default_factory=dict)
    pressing: Mapping[RingKey, datetime] = field(default_factory=dict)


def replanned(
    stacks: Sequence[StackToGlue],
    presses: int,
    hours: Sequence[ShopHours] | None,
    previous: Sequence[PressStep],
    progress: Progress,
    now: datetime,
    worth_minutes: float = 30.0,
    give_up: Callable[[], bool] = never,
) -> GluingSchedule:
    """The schedule of the rings that are left, from `now` on.

    Rings stay on the evening that `previous` had them on, in its order, wherever that costs no
    more than `worth_minutes` of the finish, or keeps the finish that was planned. Those that had
    to go elsewhere are in `moved`. Raises `FieldError` as `gluing_schedule` does.
    """
    left = [_left(stack, progress) for stack in stacks]
    asked = Asked(tuple(left), presses, hours, now, tuple(sorted(progress.pressing.values())))
    ticks, problem = posed(asked)
    fresh = solve(problem, ticks.words, give_up, _EFFORT)
    if not fresh.table.count.any() or not previous:
        plan = told(asked, ticks, problem, fresh.spans(), fresh.bound)
        return replace(plan, ready=_ready(plan, left))
    old = _old(asked, ticks, fresh, previous)
    worth = ticks.length(timedelta(minutes=worth_minutes))
    target = max(fresh.finish + worth, _planned_finish(left, ticks, previous))
    starts = _kept(fresh, old, target, give_up)
    spans = spans_of(fresh.table, starts)
    moved = _moved(problem, fresh.table, old, starts)
    plan = told(asked, ticks, problem, spans, fresh.bound, moved)
    return replace(plan, ready=_ready(plan, left))


def _kept(fresh: Search, old: Old, target: int, give_up: Callable[[], bool]) -> Ints:
    """The plan in time that moves the fewest, and of such ones changes times least."""
    table, rng = fresh.table, np.random.default_rng(_SEED)
    late = latest_ends(fresh.problem, fresh.heads, target)
    known, work = fresh.starts, _WORK
    if late is not None and few_possible(table, target):
        search = Fewest(table, goal_for(table, target, late), fresh.heads, old)
        search.search(known, rng, give_up)
        known, work = search.starts, _WORK_AFTER
    turns = max(_FEWEST, min(_MOST, work // (fresh.problem.ring_count * 128)))
    return keep_most(table, old, target, turns, rng, known)


def _left(stack: StackToGlue, progress: Progress) -> StackToGlue:
    """What is still to be pressed of a stack, and from when on."""
    ends = {**progress.out, **progress.pressing}
    left = tuple(ring for ring in stack.rings if (stack.id, ring.id) not in ends)
    begun = [ring for ring in stack.rings if (stack.id, ring.id) in ends]
    if not begun:
        return stack
    last = max(begun, key=lambda ring: ends[stack.id, ring.id])
    pause = timedelta(minutes=last.rest_minutes) if left else timedelta(hours=stack.cure_hours)
    return replace(
        stack,
        rings=left,
        after=(),
        not_before=ends[stack.id, last.id] + pause,
    )


def _ready(plan: GluingSchedule, left: Sequence[StackToGlue]) -> dict[str, datetime]:
    """Ready times, with the true one for stacks that were all pressed before now."""
    done = {s.id: s.not_before for s in left if not s.rings and s.not_before is not None}
    return {**plan.ready, **done}


def _old(asked: Asked, ticks: Ticks, fresh: Search, previous: Sequence[PressStep]) -> Old:
    """The older plan as arrays; a ring that it does not know is where the fresh plan has it."""
    table = fresh.table
    planned = {(step.stack, step.ring): ticks.at(step.starts_at) for step in previous}
    starts = np.zeros(table.press.shape, dtype=np.int64)
    for i, chain in enumerate(table.problem.chains):
        for j, ring in enumerate(chain.rings):
            starts[i, j] = planned.get((chain.id, ring), int(fresh.starts[i, j]))
    opens = _opens(asked, ticks, table)
    stay = np.full(starts.shape, -1, dtype=np.int64)
    for i, j in zip(*np.nonzero(table.real), strict=True):
        stay[i, j] = _stay(table, opens, int(starts[i, j]), int(table.press[i, j]))
    return Old(starts, stay, opens)


def _opens(asked: Asked, ticks: Ticks, table: Table) -> Ints:
    """First tick of every stay, or of every day when there are no hours."""
    if asked.hours is not None:
        return table.opens[:-1]
    midnight = asked.start.replace(hour=0, minute=0, second=0, microsecond=0)
    first = midnight - asked.start
    days = [first + timedelta(days=day) for day in range(_DAYS_AHEAD)]
    return np.array(
        [max(0, day // timedelta(microseconds=ticks.tick_us)) for day in days], dtype=np.int64
    )


def _stay(table: Table, opens: Ints, start: int, length: int) -> int:
    """The stay that the older plan's span lies in; a ring that should be in by now: the first."""
    if table.problem.hours.always:
        return int(np.searchsorted(opens, max(start, 0), side="right")) - 1
    hours = table.problem.hours
    found = hours.window_of(start, start + length)
    if found < 0 and start < 0 and hours.opens[0] == 0:
        return 0
    return found


def _planned_finish(
    left: Sequence[StackToGlue], ticks: Ticks, previous: Sequence[PressStep]
) -> int:
    """When the older plan had the stacks that are left ready."""
    ends: dict[str, datetime] = {}
    for step in previous:
        ends[step.stack] = max(ends.get(step.stack, step.ends_at), step.ends_at)
    return max(
        (
            ticks.at(ends[stack.id] + timedelta(hours=stack.cure_hours))
            for stack in left
            if stack.rings and stack.id in ends
        ),
        default=-FAR,
    )


def _moved(problem: Problem, table: Table, old: Old, starts: Ints) -> tuple[RingKey, ...]:
    found = []
    for i, chain in enumerate(problem.chains):
        for j, ring in enumerate(chain.rings):
            begin = int(starts[i, j])
            if _stay(table, old.opens, begin, int(table.press[i, j])) != old.stay[i, j]:
                found.append((chain.id, ring))
    return tuple(found)
