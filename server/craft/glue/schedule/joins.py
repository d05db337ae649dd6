"""Stacks that are glued together after turning, as further stacks of the schedule."""

from collections.abc import Mapping, Sequence

from server.craft.glue.schedule.order import RingPress, StackToGlue
from server.craft.lathe.steps import Step, Work

Times = tuple[float, float]
"""Minutes in the press, hours of cure."""


def joins_of(
    steps: Sequence[Step], times: Mapping[str, Times], turning_minutes: float
) -> list[StackToGlue]:
    """A stack of one press for each joining step of the lathe, after the stacks that it joins.

    `times` are of each stack's glue; a join takes the longer ones of its two. Its id is the
    step's, so that the floor knows it by the same name.
    """
    found: list[StackToGlue] = []
    group: dict[str, str] = {}
    for step in steps:
        if step.work is not Work.JOIN:
            continue
        names = [name for name in step.id.split(":")[1].split("+") if name in times]
        if not names:
            continue
        after = tuple(dict.fromkeys(group.get(name, name) for name in names))
        press = max(times[name][0] for name in names)
        cure = max(times[name][1] for name in names)
        ring = (RingPress(step.id, press, 0.0),)
        found.append(StackToGlue(step.id, ring, cure, after, turning_minutes))
        group |= dict.fromkeys(names, step.id)
    return found
