"""Laying several boards again at once: patterns by price, lengths by the mixed programme."""

import random
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from server.craft.saw.layout.choose import Chooser
from server.craft.saw.layout.construct import Plan, Prices, Stop, complete
from server.craft.saw.layout.improve import sections_of, shaken, taken_back
from server.craft.saw.layout.linear import Effort
from server.craft.saw.layout.mix import Pattern, SectionMix, grounds_of
from server.craft.saw.layout.pricing import BoardPricer
from server.craft.saw.layout.problem import UM
from server.craft.saw.layout.relay import best_laid
from server.craft.saw.layout.rounding import Use
from server.craft.saw.layout.slices import sliced_boards

_PATTERNS_EACH = 6
_PREFERRED = 3
_ROUNDS = 9
_PRICE_SPREAD = 0.12
_MOST_TOGETHER = 14
_MARGINS = (0.0, 0.5, 1.0, 1.5)


class Rebuilder:
    """Keeps patterns worth trying for each board of one wood."""

    def __init__(
        self,
        chooser: Chooser,
        prices: Prices,
        uses: Sequence[Use],
        chance: random.Random,
    ) -> None:
        self._chooser = chooser
        self._prices = prices
        self._chance = chance
        wood = chooser.wood
        self._pricer = BoardPricer(wood, sliced_boards(wood))
        self._patterns: dict[int, dict[Pattern, None]] = {}
        self._preferred: dict[int, dict[Pattern, None]] = {}
        for use in uses:
            alike = wood.stocks[use.board].alike
            self._preferred.setdefault(alike, {})[use.pattern] = None
        self._used = {use.board for use in uses}
        for turn in range(_ROUNDS):
            self._gather(_PRICE_SPREAD if turn else 0.0)

    def _gather(self, spread: float) -> None:
        moved = [p * UM * np.exp(self._chance.gauss(0, spread)) for p in self._prices]
        for row, pattern in self._pricer.patterns(np.array(moved)):
            alike = self._pricer.boards[row].stock.alike
            self._patterns.setdefault(alike, {})[pattern] = None

    def prefer(self, patterns: Mapping[int, Sequence[Pattern]]) -> None:
        """Try these patterns of some boards (by place) before all others."""
        for board, found in patterns.items():
            alike = self._chooser.wood.stocks[board].alike
            known = self._preferred.get(alike, {})
            self._preferred[alike] = dict.fromkeys([*found, *known])

    def from_nothing(self, plan: Plan, effort: Effort, stop: Stop) -> Plan:
        """A plan of its own, on the boards of this one and those that the bound uses."""
        boards = {i for i, board in enumerate(plan.boards) if board.strips} | self._used
        if len(boards) > _MOST_TOGETHER:
            return self.rebuilt(plan, 2, effort, stop)
        empty = taken_back(plan, {i: sections_of(plan.boards[i]) for i in boards})
        return self.filled(empty, sorted(boards), effort, stop)

    def rebuilt(self, plan: Plan, count: int, effort: Effort, stop: Stop) -> Plan:
        """A plan like this one with `count` boards laid again, together with closed ones."""
        opened = [i for i, board in enumerate(plan.boards) if board.strips]
        closed = [i for i, board in enumerate(plan.boards) if not board.strips]
        some = self._chance.sample(opened, min(len(opened), count))
        fresh = self._chance.sample(closed, min(len(closed), 2))
        start = taken_back(plan, {i: sections_of(plan.boards[i]) for i in some})
        return self.filled(start, [*some, *fresh], effort, stop)

    def filled(self, start: Plan, boards: Sequence[int], effort: Effort, stop: Stop) -> Plan:
        """The plan with what is left laid on these boards, and what stays over anywhere."""
        chooser, wood = self._chooser, self._chooser.wood
        left_mm = [um / UM for um in chooser.left_um(start.left)]
        grounds = grounds_of(start.boards, boards)
        patterns = {board: self._some(board, left_mm) for board in boards}
        margin = self._chance.choice(_MARGINS)
        mix = SectionMix(wood, start.boards, grounds, patterns, left_mm, self._prices, margin)
        choices, work = mix.choose(effort)
        chooser.spend(work)
        best: Plan | None = None
        prices = shaken(self._prices, self._chance)
        for laid in best_laid(wood, start, choices):
            plan, _ = complete(chooser, laid, prices, stop)
            if best is None or plan.rank < best.rank:
                best = plan
        return best if best is not None else start

    def _some(self, board: int, left_mm: Sequence[float]) -> list[Pattern]:
        """A few patterns of a board, without lanes of what is already cut; the bound's first."""
        alike = self._chooser.wood.stocks[board].alike
        first = _useful(self._preferred.get(alike, {}), left_mm)[:_PREFERRED]
        others = sorted(set(_useful(self._patterns.get(alike, {}), left_mm)) - set(first))
        more = min(len(others), _PATTERNS_EACH - len(first))
        return first + sorted(self._chance.sample(others, more))


def _useful(patterns: Iterable[Pattern], left_mm: Sequence[float]) -> list[Pattern]:
    found = {
        tuple(lanes if left_mm[kind] > 0 else 0 for kind, lanes in enumerate(pattern)): None
        for pattern in patterns
    }
    return [pattern for pattern in found if any(pattern)]
