"""Laying a few boards again from scratch, their strips divided anew and tried in every set."""

import random
from collections.abc import Sequence

from server.craft.saw.layout.construct import Plan
from server.craft.saw.layout.few import cut_up
from server.craft.saw.layout.fill import fill_lane
from server.craft.saw.layout.packed import packed
from server.craft.saw.layout.problem import Wood
from server.craft.saw.layout.section import Run

_MOST_STRIPS = 7
_MOST_FRESH = 2
_WORK_A_TRY = 0.2


def regrouped(wood: Wood, plan: Plan, chance: random.Random) -> tuple[Plan | None, float]:
    """A plan like this one with a few boards of at most a handful of strips laid again.

    None where nothing was found; and the work it took.
    """
    opened = [i for i, board in enumerate(plan.boards) if board.strips]
    closed = [i for i, board in enumerate(plan.boards) if not board.strips]
    chance.shuffle(opened)
    some: list[int] = []
    parts: list[Run] = []
    for index in opened:
        strips = [(strip.kind, strip.contents) for strip in plan.boards[index].strips]
        if len(parts) + len(strips) <= _MOST_STRIPS:
            some.append(index)
            parts += strips
        if len(some) > 1 and chance.random() < 0.5:
            break
    if not parts:
        return None, _WORK_A_TRY
    fresh = chance.sample(closed, min(len(closed), _MOST_FRESH))
    boards = sorted([*some, *fresh])
    rooms = [wood.stocks[i].length_um - 2 * wood.stocks[i].trim_um for i in boards]
    for _ in range(chance.randint(1, 2)):
        parts = _divided_anew(wood, parts, rooms, chance)
    if len(parts) > _MOST_STRIPS:
        return None, _WORK_A_TRY
    laid, work = packed(wood, parts, boards)
    if laid is None:
        return None, work
    every = tuple(laid.get(index, board) for index, board in enumerate(plan.boards))
    return Plan(every, plan.left), work


def _divided_anew(
    wood: Wood, parts: Sequence[Run], rooms: Sequence[int], chance: random.Random
) -> list[Run]:
    """One kind's segments in other strips: about equal ones, or one as long as something else."""
    kind = chance.choice(parts)[0]
    others = [part for part in parts if part[0] != kind]
    left = dict.fromkeys(range(len(wood.items)), 0)
    for _, contents in (part for part in parts if part[0] == kind):
        for item, count in contents:
            left[item] += count
    strips = len(parts) - len(others)
    this = wood.kinds[kind]
    found: list[Run] = []
    if chance.random() < 0.6:
        lengths = [wood.strip_um(k, contents) for k, contents in parts]
        marks = [*rooms, wood.shortest_um, *lengths]
        cap = chance.choice(marks)
        if chance.random() < 0.3:
            cap -= chance.choice(lengths) + wood.cross_um
        contents = fill_lane(wood, kind, left, max(cap, wood.shortest_um))
        if contents:
            found.append((kind, contents))
            strips -= 1
            for item, count in contents:
                left[item] -= count
    total = sum(wood.items[item].pitch_um * count for item, count in left.items())
    if not total:
        return others + found
    count = max(1, strips + chance.choice((-1, 0, 0, 1)))
    pitch = max(wood.items[item].pitch_um for item, n in left.items() if n)
    cap = this.setup_um + total // count + chance.choice((1, pitch // 2, pitch))
    cap = min(max(cap, wood.shortest_um), max(rooms))
    return others + found + list(cut_up(wood, kind, left, cap))
