"""Which steps are done, which are open and which are shut, and why, on the floor as it is now."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from server.craft.floor.state import Floor
from server.craft.lathe.steps import Cured, Measured, Need, Step
from server.craft.ledger import Kind


class Gate(StrEnum):
    """Whether a step may be done."""

    DONE = "done"
    OPEN = "open"
    SHUT = "shut"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a step is shut, in words; `until` is when it opens by itself, where that is known."""

    words: str
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class StepState:
    """A step on the floor; `done_at` is when it was ticked or measured."""

    step: Step
    gate: Gate
    reasons: tuple[Reason, ...] = ()
    done_at: datetime | None = None


def open_steps(
    steps: Sequence[Step], floor: Floor, now: datetime, names: Mapping[str, str] | None = None
) -> tuple[StepState, ...]:
    """The state of every step, in order. `names` are what to call stacks and rings in reasons."""
    known = names or {}
    done = {step.id: when for step in steps if (when := done_at(step, floor)) is not None}
    titles = {step.id: step.title for step in steps}
    return tuple(_state(step, floor, now, done, {**titles, **known}) for step in steps)


def next_step(states: Sequence[StepState]) -> StepState | None:
    """The first open step, if any."""
    return next((state for state in states if state.gate is Gate.OPEN), None)


def rings_held_back(states: Sequence[StepState]) -> dict[str, str]:
    """Rings that may not be glued on yet, with the title of the step that must come first."""
    held: dict[str, str] = {}
    for state in states:
        if state.gate is not Gate.DONE:
            for ring in state.step.holds_back:
                held.setdefault(ring, state.step.title)
    return held


def done_at(step: Step, floor: Floor) -> datetime | None:
    """When a step was done by the ledger; None while it is not."""
    if step.quantity is not None:
        return _measured_at(floor, step.subject, step.quantity)
    mark = floor.steps.get(step.subject, {}).get(step.ticked)
    if mark is not None:
        return mark.at
    glued = floor.ring(step.subject)
    return glued.since.at if glued.place == "on" and glued.since is not None else None


def _measured_at(floor: Floor, subject: str, quantity: str) -> datetime | None:
    times = [
        reading.mark.at
        for reading in floor.readings
        if reading.subject == subject and reading.quantity == quantity
    ]
    return max(times, default=None)


def _state(
    step: Step,
    floor: Floor,
    now: datetime,
    done: Mapping[str, datetime],
    names: Mapping[str, str],
) -> StepState:
    if step.id in done:
        return StepState(step, Gate.DONE, (), done[step.id])
    reasons = [
        Reason(f"First: {names.get(before, before)}.")
        for before in step.after
        if before not in done
    ]
    for need in step.needs:
        missing = _missing(need, floor, now, done, names)
        if missing is not None:
            reasons.append(missing)
    return StepState(step, Gate.SHUT if reasons else Gate.OPEN, tuple(reasons))


def _missing(
    need: Need,
    floor: Floor,
    now: datetime,
    done: Mapping[str, datetime],
    names: Mapping[str, str],
) -> Reason | None:
    if isinstance(need, Measured):
        measured = _measured_at(floor, need.subject, need.quantity)
        return None if measured else Reason("The mortise has not been measured yet.")
    cured = cured_at(need, floor, done)
    called = names.get(need.stack, need.stack)
    if isinstance(cured, str):
        return Reason(cured.format(stack=called))
    if cured <= now:
        return None
    return Reason(f"The glue has not cured: {called}.", cured)


def cured_at(need: Cured, floor: Floor, done: Mapping[str, datetime]) -> datetime | str:
    """When the glue has cured, or words (with `{stack}`) for why that cannot be told yet."""
    if not need.rings:
        begun = done.get(need.stack)
        if begun is None:
            return "Not glued yet: {stack}."
        return begun + timedelta(hours=need.hours)
    stack = floor.stack(need.stack)
    waiting = [ring for ring in need.rings if ring not in stack.on]
    if waiting:
        count = len(waiting)
        rings = "one ring is" if count == 1 else f"{count} rings are"
        return f"{rings.capitalize()} still to be glued on {{stack}}."
    if stack.in_press:
        return "A ring is in the press: {stack}."
    if stack.ready_at is not None:
        return stack.ready_at
    marks = [floor.ring(ring).since for ring in need.rings]
    latest = max((mark.at for mark in marks if mark is not None), default=floor.now)
    return latest + timedelta(hours=need.hours)


def ticks_that_open(states: Sequence[StepState]) -> tuple[tuple[Kind, str], ...]:
    """What the ledger may be told now: kind and subject of every open step."""
    return tuple(
        (state.step.ticked, state.step.subject) for state in states if state.gate is Gate.OPEN
    )
