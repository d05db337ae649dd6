"""A price below which no layout of a wood can be, whatever way it is cut.

Column generation over openings of boards (`slices.py`, `pricing.py`), with the Lagrangian value
of its prices as the bound: that holds for any prices, so it may stop at any time.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.linear import Linear
from server.craft.saw.layout.pricing import BoardPricer, Opening
from server.craft.saw.layout.problem import UM, Wood
from server.craft.saw.layout.slices import sliced

Floats = NDArray[np.floating[Any]]
_SAFE = 1 - 1e-6
_CLOSE = 2e-4
_MOST_TURNS = 80
_USED = 1e-4


@dataclass(frozen=True, slots=True)
class Bound:
    """The bound, what a mm of pitches of each kind is worth at it, and the patterns it uses.

    `patterns` are (board, lanes of each kind).
    """

    cost: float
    prices: tuple[float, ...]
    patterns: tuple[tuple[int, tuple[int, ...]], ...] = ()


def lowest_cost(wood: Wood, lacking: int, stop: Callable[[], bool]) -> Bound:
    """Bound on the cost of any layout that leaves at most `lacking` segments uncut."""
    kinds = len(wood.kinds)
    boards = [sliced(wood, stock) for stock in wood.stocks]
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
    master = _Master(wood, needs, len(boards), lacking)
    for _ in range(_MOST_TURNS):
        value, prices = master.solve()
        openings = pricer.openings(prices)
        cost = _lagrangian(wood, needs, prices, openings, lacking) * _SAFE
        if cost > best.cost:
            best = Bound(cost, tuple(float(p) for p in prices))
        added = master.add(openings)
        if not added or stop() or (not master.dear(value) and value - best.cost <= _CLOSE * value):
            break
    master.solve()
    return replace(best, patterns=tuple(master.used()))


def _lagrangian(
    wood: Wood,
    needs: Floats,
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
    return float(needs @ prices) - sum(earned.values()) - spared


class _Master:
    """The linear programme over the openings found so far."""

    def __init__(self, wood: Wood, needs: Floats, boards: int, lacking: int) -> None:
        self._kinds = len(needs)
        rates = [stock.value / max(stock.length_um / UM, 1) for stock in wood.stocks]
        self._dear = 10 * max([*rates, 1e-6])
        self._lp = Linear()
        for need in needs:
            self._lp.row(float(need), None)
        for _ in range(boards):
            self._lp.row(None, 1.0)
        for kind in range(self._kinds):
            self._lp.column(self._dear, [(kind, 1.0)])
        if lacking:
            self._lp.row(None, float(lacking))
            for kind, this in enumerate(wood.kinds):
                longest = max(wood.items[item].pitch_um for item in this.items) / UM
                self._lp.column(0.0, [(kind, longest), (self._kinds + boards, 1.0)])
        self._first = self._kinds * (2 if lacking else 1)
        self._boards = boards
        self._openings: list[Opening] = []

    def dear(self, value: float) -> bool:
        """Whether the value still pays for what no opening gives."""
        return value > 0 and bool(self._lp.values()[: self._kinds].max() > 1e-7)

    def solve(self) -> tuple[float, Floats]:
        """Value and prices of the kinds."""
        value, duals = self._lp.solve()
        return value, np.maximum(duals[: self._kinds], 0.0)

    def add(self, openings: Sequence[tuple[float, Opening]]) -> int:
        """Take in the openings that would lower the value; how many."""
        duals = self._lp.duals()
        added = 0
        for profit, opening in openings:
            if profit + min(0.0, duals[self._kinds + opening.board]) > 1e-9:
                rows = [*opening.gives, (self._kinds + opening.board, 1.0)]
                self._lp.column(opening.cost, rows)
                self._openings.append(opening)
                added += 1
        return added

    def used(self) -> list[tuple[int, tuple[int, ...]]]:
        """Board and pattern of every opening in the solution, the most used first."""
        values = self._lp.values()[self._first :]
        order = sorted(range(len(self._openings)), key=lambda i: (-values[i], i))
        return [
            (self._openings[i].board, self._openings[i].pattern)
            for i in order
            if values[i] > _USED and any(self._openings[i].pattern)
        ]
