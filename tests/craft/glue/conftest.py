"""What the schedule tests judge by: a checker and an exhaustive search, both minute by minute."""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

import pytest

from server.craft.glue.schedule import GluingSchedule, ShopHours, StackToGlue

Checker = Callable[..., list[str]]
Optimum = Callable[..., datetime | None]


@pytest.fixture(scope="session")
def schedule_faults() -> Checker:
    """Everything that is wrong with a schedule, by the contract's words alone."""
    return _faults


@pytest.fixture(scope="session")
def exhaustive_finish() -> Optimum:
    """The best finish over every order of serving the stacks, None if the hours end too soon."""
    return _exhaustive


def _faults(
    stacks: Sequence[StackToGlue],
    presses: int,
    hours: Sequence[ShopHours] | None,
    start: datetime,
    plan: GluingSchedule,
) -> list[str]:
    said = [*_misplaced(stacks, presses, hours, start, plan), *_overlapping(presses, plan)]
    ready: dict[str, datetime] = {}
    for stack in stacks:
        own = {step.ring: step for step in plan.steps if step.stack == stack.id}
        if list(own) != [ring.id for ring in stack.rings]:
            said.append(f"{stack.id}: rings missing, doubled or out of order")
            continue
        for ring, after in pairwise(stack.rings):
            rested = own[ring.id].ends_at + timedelta(minutes=ring.rest_minutes)
            if own[after.id].starts_at < rested:
                said.append(f"{stack.id}/{after.id} begins before the stack has rested")
        for before in stack.after:
            turned = plan.ready[before] + timedelta(minutes=stack.turning_minutes)
            if own and min(step.starts_at for step in own.values()) < turned:
                said.append(f"{stack.id} begins before {before} is ready and turned")
        if own:
            cured = max(s.ends_at for s in own.values()) + timedelta(hours=stack.cure_hours)
            ready[stack.id] = cured
            if plan.ready[stack.id] != cured:
                said.append(f"{stack.id} is ready at {cured}, not {plan.ready[stack.id]}")
    if plan.finish != max(plan.ready.values(), default=start):
        said.append("finish is not the latest ready time")
    if plan.bound > plan.finish:
        said.append("the bound lies after the finish")
    return said


def _misplaced(
    stacks: Sequence[StackToGlue],
    presses: int,
    hours: Sequence[ShopHours] | None,
    start: datetime,
    plan: GluingSchedule,
) -> Iterator[str]:
    length = {
        (s.id, ring.id): timedelta(minutes=ring.press_minutes) for s in stacks for ring in s.rings
    }
    for step in plan.steps:
        name = f"{step.stack}/{step.ring}"
        if step.ends_at - step.starts_at != length.get((step.stack, step.ring)):
            yield f"{name} is not pressed for its time"
        if step.starts_at < start or not 0 <= step.press < presses:
            yield f"{name} is before the start or on no press"
        if hours is not None and not any(
            stay.starts_at <= step.starts_at and step.ends_at <= stay.ends_at for stay in hours
        ):
            yield f"{name} is not inside one stay"


def _overlapping(presses: int, plan: GluingSchedule) -> Iterator[str]:
    for press in range(presses):
        held = sorted((s.starts_at, s.ends_at) for s in plan.steps if s.press == press)
        if any(after[0] < before[1] for before, after in pairwise(held)):
            yield f"press {press} holds two rings at once"


def _exhaustive(
    stacks: Sequence[StackToGlue],
    presses: int,
    hours: Sequence[ShopHours] | None,
    start: datetime,
    horizon_minutes: int,
) -> datetime | None:
    """Whole minutes only. Every order of serving; each ring at its first free minute."""
    there = [hours is None or _stay_mask(hours, start, minute) for minute in range(horizon_minutes)]
    best: int | None = None
    for order in _orders([len(stack.rings) for stack in stacks]):
        finish = _place(stacks, presses, there, order, horizon_minutes)
        if finish is not None and (best is None or finish < best):
            best = finish
    return None if best is None else start + timedelta(minutes=best)


def _stay_mask(hours: Sequence[ShopHours], start: datetime, minute: int) -> int:
    """A bit for each stay that holds this minute: a press needs one bit all the way."""
    begin = start + timedelta(minutes=minute)
    mask = 0
    for bit, stay in enumerate(hours):
        if stay.starts_at <= begin and begin + timedelta(minutes=1) <= stay.ends_at:
            mask |= 1 << bit
    return mask


def _orders(counts: list[int]) -> Iterator[list[int]]:
    if not any(counts):
        yield []
    for stack, count in enumerate(counts):
        if count:
            rest = [*counts[:stack], count - 1, *counts[stack + 1 :]]
            for order in _orders(rest):
                yield [stack, *order]


def _place(
    stacks: Sequence[StackToGlue],
    presses: int,
    there: list[int | bool],
    order: list[int],
    horizon: int,
) -> int | None:
    busy = [0] * horizon
    ready, done, finish = [0] * len(stacks), [0] * len(stacks), 0
    for i in order:
        ring = stacks[i].rings[done[i]]
        length = int(ring.press_minutes)
        minute = ready[i]
        while minute + length <= horizon and not _free(busy, there, minute, length, presses):
            minute += 1
        if minute + length > horizon:
            return None
        for taken in range(minute, minute + length):
            busy[taken] += 1
        done[i] += 1
        ready[i] = minute + length + int(ring.rest_minutes)
        finish = max(finish, minute + length + int(stacks[i].cure_hours * 60))
    return finish


def _free(busy: list[int], there: list[int | bool], minute: int, length: int, presses: int) -> bool:
    mask: int = -1
    for at in range(minute, minute + length):
        mask &= -1 if there[at] is True else int(there[at])
        if not mask or busy[at] >= presses:
            return False
    return True
