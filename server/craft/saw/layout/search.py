"""One wood while it is being solved: first plan, bound, and turns of improvement."""

import random
from collections.abc import Callable

from server.craft.saw.layout.bound import lowest_cost
from server.craft.saw.layout.choose import Chooser
from server.craft.saw.layout.construct import Plan, Prices, complete, empty_plan, first_prices
from server.craft.saw.layout.finish import first_fit
from server.craft.saw.layout.improve import relaid
from server.craft.saw.layout.linear import Effort
from server.craft.saw.layout.problem import UM, Wood
from server.craft.saw.layout.rebuild import Rebuilder

Late = Callable[[], bool]

PROVEN = 1e-3
"""A layout within this part of its bound counts as proven (contract)."""
_OPENING_TURNS = 4
_SEED = 20
_MOST_BOARDS = 4
_EFFORT = Effort(nodes=40, gap=0.005, seconds=1.0)
_WORSE = 0.003


class Search:
    """Keeps the best plan of one wood; every turn tries to better it."""

    def __init__(self, wood: Wood, late: Late) -> None:
        self.wood = wood
        self.bound = 0.0
        self._chooser = Chooser(wood)
        self._prices: Prices = first_prices(wood)
        self._taught = self._prices
        self._chance = random.Random(_SEED)
        self._rebuilder: Rebuilder | None = None
        self.turns = 0
        plan, self._taught = complete(self._chooser, empty_plan(wood), self._prices, late)
        self.best = first_fit(wood, plan, lambda: False) if plan.lacking else plan
        self._current = self.best

    @property
    def gap(self) -> float:
        """Money between the plan and its bound; nothing once it is proven."""
        cost = self.best.cost
        if not self.wood.stocks or cost - self.bound <= PROVEN * cost:
            return 0.0
        return cost - self.bound

    def turn(self, late: Late) -> bool:
        """One try to better the plan; whether it did."""
        before = self.best.rank
        if self.turns < _OPENING_TURNS:
            plan, self._taught = complete(self._chooser, empty_plan(self.wood), self._taught, late)
            self._take(plan)
        elif self._rebuilder is None:
            self._start_improving(late)
        elif self.turns % 3 == 0:
            count = self._chance.randint(1, _MOST_BOARDS)
            self._take(self._rebuilder.rebuilt(self._current, count, _EFFORT, late))
        else:
            self._take(relaid(self._chooser, self._current, self._prices, self._chance, late))
        self.turns += 1
        return self.best.rank < before

    def _start_improving(self, late: Late) -> None:
        bound = lowest_cost(self.wood, self.best.lacking, late)
        self.bound = bound.cost
        dual = [price / UM for price in bound.prices]
        self._prices = [max(d, t / 10) for d, t in zip(dual, self._taught, strict=True)]
        self._rebuilder = Rebuilder(self._chooser, self._prices, self._chance)
        plan, _ = complete(self._chooser, empty_plan(self.wood), self._prices, late)
        self._take(plan)

    def _take(self, plan: Plan) -> None:
        """Keep a better plan; go on from one that is only a little worse."""
        lacking, cost = plan.rank
        if (lacking, cost * (1 - _WORSE * self._chance.random())) <= self._current.rank:
            self._current = plan
        if plan.rank < self.best.rank:
            self.best = plan
