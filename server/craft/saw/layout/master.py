"""The bound's linear programme over openings of boards, and the same with whole boards."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.linear import Effort, Linear, Mixed
from server.craft.saw.layout.pricing import Opening
from server.craft.saw.layout.problem import UM, Wood
from server.craft.saw.layout.rounding import Use
from server.craft.saw.layout.slices import SlicedBoard

Floats = NDArray[np.floating[Any]]

_USED = 1e-4
_MISSING = 1.3
"""What a mm that no whole board gives is taken to cost, against its price at the bound."""
_MOST_WHOLE = 400


class Master:
    """The openings found so far and how much of each is used."""

    def __init__(
        self, wood: Wood, needs: Floats, boards: Sequence[SlicedBoard], lacking: int
    ) -> None:
        self._needs = needs
        self._boards = boards
        self._kinds = len(needs)
        self._openings: list[Opening] = []
        self._lp = Linear()
        for need in needs:
            self._lp.row(float(need), None)
        for board in boards:
            self._lp.row(None, float(board.count))
        dear = 10 * max(1e-6, *(b.stock.value / max(b.stock.length_um / UM, 1) for b in boards))
        for kind in range(self._kinds):
            self._lp.column(dear, [(kind, 1.0)])
        if lacking:
            self._lp.row(None, float(lacking))
            for kind, this in enumerate(wood.kinds):
                longest = max(wood.items[item].pitch_um for item in this.items) / UM
                self._lp.column(0.0, [(kind, longest), (self._kinds + len(boards), 1.0)])
        self._first = self._kinds * (2 if lacking else 1)

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

    def used(self) -> list[Use]:
        """Every opening in the solution, the most used first."""
        values = self._lp.values()[self._first :]
        return self._uses(list(zip(self._openings, values.tolist(), strict=True)))

    def whole(self, effort: Effort) -> tuple[list[Use], float]:
        """The best whole numbers of these openings, and the work that finding them took.

        What they leave uncut costs a little more.
        """
        openings = self._openings[-_MOST_WHOLE:]
        prices = np.maximum(self._lp.duals()[: self._kinds], 0.0)
        mixed = Mixed()
        gives: list[list[tuple[int, float]]] = [[] for _ in range(self._kinds)]
        rows: dict[int, list[tuple[int, float]]] = {}
        for opening in openings:
            count = self._boards[opening.board].count
            column = mixed.variable(opening.cost, count, whole=True)
            rows.setdefault(opening.board, []).append((column, 1.0))
            for kind, given in opening.gives:
                gives[kind].append((column, given))
        for board, terms in rows.items():
            mixed.row(None, self._boards[board].count, terms)
        for kind, need in enumerate(self._needs):
            missing = mixed.variable(float(prices[kind]) * _MISSING, float(need))
            mixed.row(float(need), None, [*gives[kind], (missing, 1.0)])
        outcome = mixed.solve(effort)
        if outcome.values is None:
            return [], outcome.work
        times = outcome.values[: len(openings)].tolist()
        return self._uses(list(zip(openings, times, strict=True))), outcome.work

    def _uses(self, found: list[tuple[Opening, float]]) -> list[Use]:
        ordered = sorted(enumerate(found), key=lambda entry: (-entry[1][1], entry[0]))
        return [
            Use(self._boards[o.board].first, o.pattern, o.length_mm, times)
            for _, (o, times) in ordered
            if times > _USED and any(o.pattern)
        ]
