"""The schedule of a piece: what is left, replanned from what happened since the day began.

What was planned is never stored. The plan of this morning is worked out again from the ledger as
it was then, and today's plan moves as few rings away from it as need be.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from functools import lru_cache

from server.craft.document import Piece
from server.craft.document.kept_shop import GluingHabits
from server.craft.floor import Floor, fold
from server.craft.glue.schedule import (
    GluingSchedule,
    Progress,
    ShopHours,
    StackToGlue,
    gluing_schedule,
    replanned,
)
from server.craft.glue.schedule.joins import joins_of
from server.craft.glue.schedule.order import RingPress
from server.craft.glue.schedule.weekly import Habit, stays_from
from server.craft.ledger import Entry
from server.craft.planned import Planned
from server.web.orders import orders_of

DAYS_AHEAD = 400
Pace = Mapping[str, tuple[float, float, float]]
"""By stack: minutes in the press, minutes of rest, hours of cure."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the schedule is asked for; `pace` where the log's times go before the label's."""

    planned: Planned
    entries: tuple[Entry, ...]
    habits: GluingHabits
    now: datetime
    pace: tuple[tuple[str, tuple[float, float, float]], ...] = ()

    def at(self, now: datetime) -> "Asked":
        """The same, asked at another moment."""
        return replace(self, now=now)


Planning = Callable[[], GluingSchedule | None]


def work_out(morning: Planning) -> GluingSchedule | None:
    """Plans a morning each time it is asked for."""
    return morning()


def scheduled(
    asked: Asked,
    local: Callable[[datetime], datetime],
    give_up: Callable[[], bool],
    this_morning: Callable[[Planning], GluingSchedule | None] = work_out,
) -> GluingSchedule:
    """The schedule of what is left. Raises FieldError where some ring fits into no stay.

    `this_morning` is handed the planning of the day's beginning, which is the same all day.
    """
    floor = fold(asked.entries, now=asked.now)
    stacks = stacks_of(asked, floor)
    morning = asked.now.replace(hour=0, minute=0, second=0, microsecond=0)
    hours = hours_from(asked.habits, morning, local)
    before = this_morning(lambda: _planned_this_morning(asked, morning, hours, give_up))
    return replanned(
        stacks,
        asked.habits.presses,
        hours,
        before.steps if before else (),
        _progress(stacks, floor, asked.now),
        asked.now,
        give_up=give_up,
    )


def hours_from(
    habits: GluingHabits, start: datetime, local: Callable[[datetime], datetime]
) -> Sequence[ShopHours] | None:
    """The stays that the habits make, from a day's beginning on."""
    weekly = tuple(
        Habit(stay.day, time.fromisoformat(stay.starts), time.fromisoformat(stay.ends))
        for stay in habits.stays
    )
    return _stays(weekly, start, start.utcoffset(), local)


@lru_cache(maxsize=8)
def _stays(
    weekly: tuple[Habit, ...],
    start: datetime,
    _offset: timedelta | None,  # the same moment in another zone is another day's beginning
    local: Callable[[datetime], datetime],
) -> Sequence[ShopHours] | None:
    """More than a year of them is laid out once a day, not for every view."""
    stays = stays_from(weekly, start, DAYS_AHEAD, local)
    return None if stays is None else tuple(stays)


def stacks_of(asked: Asked, floor: Floor) -> list[StackToGlue]:
    """The piece's stacks, one after the other where they share a faceplate, then the joins."""
    piece = asked.planned.piece
    reading = floor.latest("temperature_c")
    degrees = reading.value if reading else piece.room.temperature_c
    pace = dict(asked.pace)
    found: list[StackToGlue] = []
    last_on: dict[str, str] = {}
    shared = _shared(piece)
    for order in orders_of(piece, degrees):
        if not order.rings:
            continue
        press, rest, cure = pace.get(
            order.id, (order.press_minutes, order.rest_minutes, order.cure_hours)
        )
        rings = tuple(RingPress(ring.id, round(press), round(rest)) for ring in order.rings)
        plate = order.faceplate if order.faceplate in shared else ""
        after = (last_on[plate],) if plate in last_on else ()
        turning = asked.habits.turning_minutes if after else 0.0
        found.append(StackToGlue(order.id, rings, round(cure, 2), after, turning))
        if plate:
            last_on[plate] = order.id
    times = {one.id: (one.rings[0].press_minutes, one.cure_hours) for one in found}
    steps = asked.planned.usual_steps
    return found + joins_of(steps, times, asked.habits.turning_minutes)


def _shared(piece: Piece) -> set[str]:
    """Faceplates that more than one stack names."""
    named = [stack.faceplate for stack in piece.stacks if stack.faceplate]
    return {plate for plate in named if named.count(plate) > 1}


def _progress(stacks: Sequence[StackToGlue], floor: Floor, now: datetime) -> Progress:
    out: dict[tuple[str, str], datetime] = {}
    pressing: dict[tuple[str, str], datetime] = {}
    for stack in stacks:
        for ring in stack.rings:
            state = floor.ring(ring.id)
            turned = next(iter(floor.steps.get(ring.id, {}).values()), None)
            if state.place == "press" and state.since is not None:
                until = state.since.at + timedelta(minutes=ring.press_minutes)
                pressing[stack.id, ring.id] = max(until, now)
            elif state.place == "on" and state.since is not None:
                out[stack.id, ring.id] = state.since.at
            elif turned is not None:
                out[stack.id, ring.id] = turned.at
    return Progress(out, pressing)


def _planned_this_morning(
    asked: Asked,
    morning: datetime,
    hours: Sequence[ShopHours] | None,
    give_up: Callable[[], bool],
) -> GluingSchedule | None:
    """What was planned when the day began, from the ledger as it was then."""
    entries = tuple(e for e in asked.entries if min(e.at, e.received_at) < morning)
    if len(entries) == len(asked.entries):
        return None
    floor = fold(entries, now=morning)
    stacks = stacks_of(replace(asked, entries=entries), floor)
    progress = _progress(stacks, floor, morning)
    if not progress.out and not progress.pressing:
        return gluing_schedule(stacks, asked.habits.presses, hours, morning, give_up)
    return replanned(stacks, asked.habits.presses, hours, (), progress, morning, give_up=give_up)
