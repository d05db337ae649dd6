"""What is left to glue of a piece, as the schedule wants it: stacks, presses, rests, cures.

Minutes are the glue's at the shop's temperature, rounded up to whole ones.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from server.craft.document.assembly import Stack
from server.craft.errors import CraftError
from server.craft.floor.state import Floor
from server.craft.glue.adhesives import DEFAULT_GLUE, Glue
from server.craft.glue.schedule import GluingSchedule, RingPress, StackToGlue, gluing_schedule
from server.craft.glue.timing import Times, times
from server.craft.planned import Planned

MOST_RINGS = 2000
"""As many as are planned in a few seconds."""


@dataclass(frozen=True, slots=True)
class Gluing:
    """The schedule of a piece with the stacks that it is about, by their ids.

    `cold` are the stacks whose glue does not harden in the shop as it is. `joins` are what the
    schedule presses besides rings, stacks glued to one another, in words by their ids.
    """

    schedule: GluingSchedule
    stacks: Mapping[str, Stack]
    glues: Mapping[str, Glue]
    rest_minutes: Mapping[str, float]
    cold: frozenset[str]
    joins: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Progress:
    """What the floor says of one stack: rings that are through, and when it may go on."""

    done: frozenset[str] = field(default_factory=frozenset)
    not_before: datetime | None = None


def plan_gluing(planned: Planned, start: datetime, floor: Floor | None = None) -> Gluing:
    """When to press what from `start` (aware) on, with one press and somebody always there.

    Stacks that share a faceplate come one after the other. CraftError where nothing is to glue.
    """
    stacks = stacks_to_glue(planned)
    waiting = list(_waiting(planned, stacks, start, floor))
    if sum(len(stack.rings) for stack in waiting) > MOST_RINGS:
        raise CraftError(f"At most {MOST_RINGS} rings can be scheduled at once.")
    if not waiting:
        raise CraftError("There is nothing to glue in this piece: it has no rings that wait.")
    return Gluing(
        schedule=gluing_schedule(waiting, 1, None, start),
        stacks={stack.id: stack for stack in stacks},
        glues={stack.id: glue_of(planned, stack) for stack in stacks},
        rest_minutes={ring.id: ring.rest_minutes for stack in waiting for ring in stack.rings[:-1]},
        cold=frozenset(stack.id for stack in stacks if stack_times(planned, stack).too_cold),
    )


def stacks_to_glue(planned: Planned) -> tuple[Stack, ...]:
    """The stacks as drawn; rings on no stack count as one of their part, from its bottom up."""
    drawn = planned.piece.stacks
    stacked = {ring for stack in drawn for ring in stack.rings}
    taken = {name for name, _ in planned.piece.ids()}
    loose = []
    for part in planned.piece.parts:
        rings = tuple(ring.id for ring in part.rings if ring.id not in stacked)
        if rings:
            name = f"{part.id}-rings"
            while name in taken:
                name += "-"
            loose.append(Stack(id=name[:200], part=part.id, rings=rings, name=part.title))
    return (*(stack for stack in drawn if stack.rings), *loose)


def glue_of(planned: Planned, stack: Stack) -> Glue:
    """The stack's glue, or the usual one."""
    return planned.glues[stack.glue or DEFAULT_GLUE]


def stack_times(planned: Planned, stack: Stack) -> Times:
    """The glue's times at the shop's temperature."""
    return times(glue_of(planned, stack), planned.piece.room.temperature_c)


def _waiting(
    planned: Planned, stacks: Sequence[Stack], start: datetime, floor: Floor | None
) -> Iterator[StackToGlue]:
    last_on: dict[str, str] = {}
    for stack in stacks:
        said = _progress(stack, floor)
        left = tuple(ring for ring in stack.rings if ring not in said.done)
        if not left:
            continue
        took = stack_times(planned, stack)
        before = last_on.get(stack.faceplate) if stack.faceplate else None
        press, rest = math.ceil(took.press_minutes), math.ceil(took.rest_minutes)
        yield StackToGlue(
            id=stack.id,
            rings=tuple(RingPress(ring, press, rest) for ring in left),
            cure_hours=math.ceil(took.cure_hours * 60) / 60,
            after=(before,) if before else (),
            not_before=max(start, said.not_before) if said.not_before else None,
        )
        if stack.faceplate:
            last_on[stack.faceplate] = stack.id


def _progress(stack: Stack, floor: Floor | None) -> Progress:
    if floor is None:
        return Progress()
    state = floor.stack(stack.id)
    moments = [state.rest_until, state.press.deadline if state.press else None]
    return Progress(
        frozenset((*state.on, *state.in_press)),
        max((moment for moment in moments if moment is not None), default=None),
    )
