"""What the ledger says was done at the lathe, and whether that was before its turn.

No line of the ledger is refused: a device that was away sends what was ticked on it. A tick that
came before its turn is kept and shown; `steps_gates.py` lets it open nothing until its turn is.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta

from server.craft.floor.state import Floor, Mark, Reading
from server.craft.lathe.steps import Cured, Measured, Need, Step


def said_done(step: Step, floor: Floor) -> Mark | None:
    """The line that says a step is done; None while there is none."""
    if step.quantity is not None:
        return measured(floor, step.subject, step.quantity)
    mark = floor.steps.get(step.subject, {}).get(step.ticked)
    if mark is not None:
        return mark
    glued = floor.ring(step.subject)
    return glued.since if glued.place == "on" else None


def measured(floor: Floor, subject: str, quantity: str) -> Mark | None:
    """The newest line that has this measure."""
    reading = newest_reading(floor, subject, quantity)
    return None if reading is None else reading.mark


def newest_reading(floor: Floor, subject: str, quantity: str) -> Reading | None:
    """The newest value of a measure."""
    found = [r for r in floor.readings if (r.subject, r.quantity) == (subject, quantity)]
    return max(found, key=lambda reading: (reading.mark.at, reading.mark.seq), default=None)


def came_before(step: Step, said: Mapping[str, Mark]) -> tuple[str, ...]:
    """Ids of the steps that were done after this one although they come first.

    Clocks of two devices may differ: a step counts as too early only when both its time and its
    place in the ledger say so.
    """
    own = said[step.id]
    return tuple(
        before
        for before in step.after
        if before in said and said[before].at > own.at and said[before].seq > own.seq
    )


def met_then(need: Need, floor: Floor, said: Mapping[str, Mark], own: Mark) -> bool:
    """Whether what a step waits for was so when the line `own` was written."""
    if isinstance(need, Measured):
        right = [
            reading.mark
            for reading in floor.readings
            if (reading.subject, reading.quantity) == (need.subject, need.quantity)
            and need.met_by(reading.value)
        ]
        return any(mark.at <= own.at or mark.seq < own.seq for mark in right)
    if not need.rings:
        begun = said.get(need.stack)
        return begun is not None and begun.at + timedelta(hours=need.hours) <= own.at
    on = [_came_on(floor, ring) for ring in need.rings]
    latest = max((moment for moment in on if moment is not None), default=None)
    if latest is None or None in on:
        return False
    return latest + timedelta(hours=_hours(need, floor)) <= own.at


def _came_on(floor: Floor, ring: str) -> datetime | None:
    """When a ring first came out of the press on its stack."""
    out = [run.released.at for run in floor.runs if run.ring == ring and run.released is not None]
    state = floor.ring(ring)
    if state.place == "on" and state.since is not None:
        out.append(state.since.at)
    return min(out, default=None)


def _hours(need: Cured, floor: Floor) -> float:
    """Hours of cure: those of the step, or fewer where the ledger's own lines say so."""
    stack = floor.stack(need.stack)
    marks = [floor.ring(ring).since for ring in stack.on]
    last = max((mark.at for mark in marks if mark is not None), default=None)
    if stack.ready_at is None or last is None:
        return need.hours
    return min(need.hours, (stack.ready_at - last).total_seconds() / 3600)
