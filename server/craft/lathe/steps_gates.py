"""Which steps are done, which are open and which are shut, and why, on the floor as it is now."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from server.craft.floor.state import Floor, Mark
from server.craft.lathe.joints import MORTISE, RUN_OUT
from server.craft.lathe.steps import Cured, Measured, Need, Step
from server.craft.lathe.steps_said import came_before, met_then, newest_reading, said_done
from server.craft.ledger import Kind


class Gate(StrEnum):
    """Whether a step may be done. `EARLY`: the ledger says it is, and its turn has not come."""

    DONE = "done"
    OPEN = "open"
    SHUT = "shut"
    EARLY = "early"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a step is shut, in words; `until` is when it opens by itself, where that is known."""

    words: str
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class StepState:
    """A step on the floor; `done_at` is when it was ticked or measured.

    `reasons` say why it is shut, or what it was ticked before. `out_of_turn` are the words for a
    step that counts as done now but was ticked before its turn.
    """

    step: Step
    gate: Gate
    reasons: tuple[Reason, ...] = ()
    done_at: datetime | None = None
    out_of_turn: tuple[str, ...] = ()


def open_steps(
    steps: Sequence[Step], floor: Floor, now: datetime, names: Mapping[str, str] | None = None
) -> tuple[StepState, ...]:
    """The state of every step, in order. `names` are what to call stacks and rings in reasons."""
    said = {step.id: mark for step in steps if (mark := said_done(step, floor)) is not None}
    called = {**{step.id: step.title for step in steps}, **(names or {})}
    floor_now = _Now(floor, now, said, {}, called)
    return tuple(_state(step, floor_now) for step in steps)


@dataclass(frozen=True, slots=True)
class _Now:
    """The floor at one moment; `done` fills up as the steps are gone through in order."""

    floor: Floor
    now: datetime
    said: Mapping[str, Mark]
    done: dict[str, datetime]
    names: Mapping[str, str]

    def called(self, name: str) -> str:
        """What to call a step, stack or ring."""
        return self.names.get(name, name)


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


def _state(step: Step, at: _Now) -> StepState:
    own = at.said.get(step.id)
    reasons = [
        Reason(f"First: {at.called(before)}.") for before in step.after if before not in at.done
    ]
    for need in step.needs:
        missing = _missing(need, at)
        if missing is not None and not (own and met_then(need, at.floor, at.said, own)):
            reasons.append(missing)
    if own is None:
        return StepState(step, Gate.SHUT if reasons else Gate.OPEN, tuple(reasons))
    if reasons:
        return StepState(step, Gate.EARLY, tuple(reasons), own.at)
    at.done[step.id] = own.at
    return StepState(step, Gate.DONE, (), own.at, tuple(_out_of_turn(step, own, at)))


def _out_of_turn(step: Step, own: Mark, at: _Now) -> Iterator[str]:
    for before in came_before(step, at.said):
        yield f"Ticked before: {at.called(before)}."
    for need in step.needs:
        if met_then(need, at.floor, at.said, own):
            continue
        if isinstance(need, Measured):
            yield f"Ticked before {_WHAT.get(need.quantity, 'it')} was measured."
        else:
            yield f"Ticked before the glue had cured: {at.called(need.stack)}."


def _missing(need: Need, at: _Now) -> Reason | None:
    if isinstance(need, Measured):
        return _unmeasured(need, at.floor)
    cured = cured_at(need, at.floor, at.done)
    if isinstance(cured, str):
        return Reason(cured.format(stack=at.called(need.stack)))
    if cured <= at.now:
        return None
    return Reason(f"The glue has not cured: {at.called(need.stack)}.", cured)


_WHAT = {MORTISE: "the mortise", RUN_OUT: "how true it runs"}


def _unmeasured(need: Measured, floor: Floor) -> Reason | None:
    what = _WHAT.get(need.quantity, "it")
    reading = newest_reading(floor, need.subject, need.quantity)
    if reading is None:
        return Reason(f"{what[:1].upper()}{what[1:]} has not been measured yet.")
    if need.met_by(reading.value):
        return None
    most, inch = need.at_most_mm or 0.0, (need.at_most_mm or 0.0) / 25.4
    return Reason(
        f"It runs out by more than {most:g} mm ({inch:.3f} in). Set it again and measure again."
    )


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
