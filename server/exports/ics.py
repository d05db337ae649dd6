"""The gluing as a calendar (RFC 5545): a phone that lies in a pocket rings by itself.

An event for each press, each rest and each stack that is ready, with its alarm. The same piece
gives the same UIDs, so that a calendar that takes the file again moves its events.
"""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from server.craft.document.ring_labels import ring_labels
from server.craft.floor.state import Floor
from server.craft.planned import Planned
from server.exports.gluing import Gluing, plan_gluing
from server.exports.words import one_line

_SPACE = uuid.UUID("4f2a6d0e-6c0b-5d53-9a4e-7d0c6c1f2b11")
"""Where the UIDs of these events are made (RFC 4122, version 5)."""

_COLD = " Too cold in the shop for this glue: do not glue."
_LABEL = "The glue’s label governs. A cure time is the least time: try the joint before turning."


@dataclass(frozen=True, slots=True)
class Happening:
    """One event; without an end it is a moment."""

    key: str
    summary: str
    description: str
    start: datetime
    end: datetime | None


def gluing_ics(
    planned: Planned,
    now: datetime,
    *,
    start: datetime | None = None,
    piece: str | None = None,
    revision: int = 0,
    floor: Floor | None = None,
) -> bytes:
    """The calendar from `start` (aware; else `now`) on.

    `piece` is the kept piece's id: its events keep their UIDs through every change of the drawing,
    its name included. CraftError where nothing is to glue.
    """
    gluing = plan_gluing(planned, _whole_minute(start or now), floor)
    return calendar_of(planned, gluing, now, piece=piece, revision=revision)


def calendar_of(
    planned: Planned, gluing: Gluing, now: datetime, *, piece: str | None = None, revision: int = 0
) -> bytes:
    """The calendar of a schedule that was made already; see `gluing_ics`."""
    # Loaded when asked for.
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//Ringwright//Gluing//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", one_line(f"Gluing: {planned.piece.name}"))
    owner = piece or planned.piece.name
    happenings = [*_happenings(planned, gluing)]
    told = {one.end for one in happenings}
    for one in happenings:
        # What begins as something else ends is told by that one's alarm: one is enough.
        begins = one.end is None or one.start not in told
        calendar.add_component(_event(one, begins, owner, now, revision))
    text: bytes = calendar.to_ical()
    return text


def _whole_minute(moment: datetime) -> datetime:
    """The next whole minute, in UTC."""
    exact = moment.astimezone(UTC)
    minute = exact.replace(second=0, microsecond=0)
    return minute if minute == exact else minute + timedelta(minutes=1)


def _happenings(planned: Planned, gluing: Gluing) -> Iterator[Happening]:
    name = one_line(planned.piece.name, 60)
    numbers = ring_labels(planned.piece)
    for step in gluing.schedule.steps:
        if step.stack in gluing.joins:
            yield Happening(
                f"press/{step.stack}/{step.ring}",
                one_line(gluing.joins[step.stack], 120),
                f"{name}. Release it at the end. {_LABEL}",
                step.starts_at,
                step.ends_at,
            )
            continue
        stack, glue = gluing.stacks[step.stack], gluing.glues[step.stack]
        title, ring = one_line(stack.title, 60), f"ring {numbers[step.ring]}"
        cold = _COLD if step.stack in gluing.cold else ""
        plate = f" ({one_line(stack.faceplate, 40)})" if stack.faceplate else ""
        yield Happening(
            f"press/{step.stack}/{step.ring}",
            f"Press {ring} on {title}{plate}",
            f"{name}. {one_line(glue.name)}.{cold} Release it at the end. {_LABEL}",
            step.starts_at,
            step.ends_at,
        )
        rest = gluing.rest_minutes.get(step.ring, 0.0)
        if rest > 0:
            yield Happening(
                f"rest/{step.stack}/{step.ring}",
                f"{title} rests after {ring}",
                f"{name}. The next ring may go on at the end. {_LABEL}",
                step.ends_at,
                step.ends_at + timedelta(minutes=rest),
            )
    for stack_id, ready in gluing.schedule.ready.items():
        join = gluing.joins.get(stack_id)
        title = one_line(join or gluing.stacks[stack_id].title, 120)
        yield Happening(
            f"ready/{stack_id}",
            f"{title}: cured, may be trued" if join else f"{title} is ready for the lathe",
            f"{name}. {_LABEL} Spin it by hand first and start slowly.",
            ready,
            None,
        )


def _event(happening: Happening, begins: bool, owner: str, now: datetime, revision: int) -> Any:
    """With an alarm at its end, and one at its beginning too where `begins` says so."""
    from icalendar import Alarm, Event

    event = Event()
    event.add("uid", str(uuid.uuid5(_SPACE, f"{owner}\n{happening.key}")))
    event.add("dtstamp", now.astimezone(UTC).replace(microsecond=0))
    event.add("dtstart", happening.start)
    if happening.end is not None:
        event.add("dtend", happening.end)
    event.add("sequence", revision)
    event.add("summary", happening.summary)
    event.add("description", happening.description)
    event.add("transp", "TRANSPARENT")
    rings = (("START", begins), ("END", happening.end is not None))
    for end in (end for end, there in rings if there):
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", happening.summary)
        alarm.add("trigger", timedelta(0), parameters={"related": end})
        event.add_component(alarm)
    return event
