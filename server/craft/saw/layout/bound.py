"""A price below which no layout of a wood can be, whatever way it is cut.

Column generation over openings of boards (`slices.py`, `pricing.py`), with the Lagrangian value
of its prices as the bound: that holds for any prices, so it may stop at any time.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.linear import Effort
from server.craft.saw.layout.master import Master
from server.craft.saw.layout.pricing import BoardPricer, Opening
from server.craft.saw.layout.problem import KEEP_LENGTH_UM, UM, Wood
from server.craft.saw.layout.rounding import Use
from server.craft.saw.layout.slices import SlicedBoard, sliced_boards
from server.craft.saw.layout.watch import Meter

Floats = NDArray[np.floating[Any]]
_SAFE = 1 - 1e-6
_CLOSE = 2e-4
_MOST_TURNS = 60
_TURNS_A_KIND = 4
_WHOLE_NODES = 200
_WHOLE_ASKS = 40
_ENOUGH = 1e-3


@dataclass(frozen=True, slots=True)
class Bound:
    """The bound, what a mm of pitches of each kind is worth at it, and how it opens boards.

    `uses` are the openings of the linear programme `master`.
    """

    cost: float
    prices: tuple[float, ...]
    uses: tuple[Use, ...] = ()
    master: Master | None = None


def lowest_cost(wood: Wood, lacking: int, meter: Meter) -> Bound:
    """Bound on the cost of any layout that leaves at most `lacking` segments uncut."""
    kinds = len(wood.kinds)
    boards = sliced_boards(wood)
    needs = np.array(
        [
            sum(wood.items[i].count * (wood.items[i].pitch_um - 1) for i in k.items)
            for k in wood.kinds
        ]
    ) / float(UM)
    best = Bound(0.0, (0.0,) * kinds)
    if not boards:
        return best
    pricer = BoardPricer(wood, boards)
    master = Master(wood, needs, boards, lacking)
    for _ in range(_MOST_TURNS + _TURNS_A_KIND * kinds):
        value, prices = master.solve()
        openings = pricer.openings(prices)
        meter.spend(pricer.work)
        cost = _lagrangian(wood, needs, boards, prices, openings, lacking) * _SAFE
        if cost > best.cost:
            best = Bound(cost, tuple(float(p) for p in prices))
        added = master.add(openings)
        close = not master.dear(value) and value - best.cost <= _CLOSE * value
        if not added or close or meter.over():
            break
    master.solve()
    cost = _whole_boards(wood, best.cost)
    return replace(best, cost=cost, uses=tuple(master.used()), master=master)


def whole_uses(master: Master, meter: Meter) -> list[Use]:
    """The openings of the bound chosen again with whole boards only."""
    effort = Effort(_WHOLE_NODES, _ENOUGH, _WHOLE_ASKS, meter.left_s())
    whole, work = master.whole(effort)
    meter.spend(work)
    return whole


def _whole_boards(wood: Wood, cost: float) -> float:
    """Where no offcut can be worth anything and boards cost alike, whole boards are paid."""
    values = {stock.value for stock in wood.stocks}
    longest = max(stock.length_um for stock in wood.stocks)
    if len(values) != 1 or longest >= KEEP_LENGTH_UM:
        return cost
    value = values.pop()
    return max(cost, value * math.ceil(cost / value - 1e-4)) if value > 0 else cost


def _lagrangian(
    wood: Wood,
    needs: Floats,
    boards: Sequence[SlicedBoard],
    prices: Floats,
    openings: Sequence[tuple[float, Opening]],
    lacking: int,
) -> float:
    earned: dict[int, float] = {}
    for profit, opening in openings:
        earned[opening.board] = max(earned.get(opening.board, 0.0), profit)
    spared, left = 0.0, lacking
    items = sorted(
        ((prices[item.kind] * item.pitch_um / UM, item.count) for item in wood.items), reverse=True
    )
    for price, count in items:
        spared += price * min(count, left)
        left -= min(count, left)
    spent = sum(boards[row].count * profit for row, profit in earned.items())
    return float(needs @ prices - spared - spent)
