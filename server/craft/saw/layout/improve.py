"""Making a layout better: take back some sections and lay them again at other prices."""

import math
import random
from collections.abc import Sequence

from server.craft.saw.layout.choose import Chooser
from server.craft.saw.layout.construct import Plan, Prices, Stop, complete, empty_plan
from server.craft.saw.layout.problem import Wood
from server.craft.saw.layout.sawn import Sawn

_MOST_BOARDS = 5
_SPREADS = (0.05, 0.12, 0.12, 0.25)
"""How far prices are moved (natural logarithm), one picked for each try."""


def taken_back(plan: Plan, counts: dict[int, int]) -> Plan:
    """The plan without the last `counts[board]` sections of some boards."""
    boards = list(plan.boards)
    left = dict(plan.left)
    for index, count in counts.items():
        sawn = boards[index]
        for _ in range(count):
            if sawn.before is None:
                break
            for strip in sawn.strips[len(sawn.before.strips) :]:
                for item, pieces in strip.contents:
                    left[item] += pieces
            sawn = sawn.before
        boards[index] = sawn
    return Plan(tuple(boards), left)


def sections_of(sawn: Sawn) -> int:
    """How many sections are laid on a board."""
    count = 0
    while sawn.before is not None:
        count += 1
        sawn = sawn.before
    return count


def ruined(plan: Plan, chance: random.Random) -> Plan:
    """Take back sections of a few boards picked by chance, all of them or the last ones."""
    opened = [index for index, board in enumerate(plan.boards) if board.strips]
    some = chance.sample(opened, min(len(opened), chance.randint(1, _MOST_BOARDS)))
    counts = {}
    for index in some:
        laid = sections_of(plan.boards[index])
        counts[index] = laid if chance.random() < 0.5 else chance.randint(1, laid)
    return taken_back(plan, counts)


def shaken(prices: Sequence[float], chance: random.Random) -> Prices:
    """Prices moved up and down by chance."""
    spread = chance.choice(_SPREADS)
    return [price * math.exp(chance.gauss(0.0, spread)) for price in prices]


def relaid(
    chooser: Chooser, plan: Plan, prices: Sequence[float], chance: random.Random, stop: Stop
) -> Plan:
    """One try: a plan like this one with a few boards laid again."""
    start = ruined(plan, chance)
    better, _ = complete(chooser, start, shaken(prices, chance), stop)
    return better


def without_largest(wood: Wood, count: int) -> tuple[Plan, dict[int, int]]:
    """An empty plan without the `count` segments that take most wood, and those segments."""
    plan = empty_plan(wood)
    left = dict(plan.left)
    dropped: dict[int, int] = {}

    def area(item: int) -> int:
        return wood.items[item].pitch_um * wood.kinds[wood.items[item].kind].width_um

    for item in sorted(left, key=lambda i: (-area(i), i)):
        taken = min(left[item], count)
        if taken:
            dropped[item] = taken
            left[item] -= taken
            count -= taken
    return Plan(plan.boards, left), dropped
