"""The search for the plan in time that moves the fewest rings, where there are shop hours.

Prices for crowded stays, a few passages through the stays, then passages with most rings held where
the best plan has them: all but those of a few stacks, or of a few stays in a row. It ends when no
plan can move fewer, or when its work is done.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from server.craft.glue.schedule.evolve import Goal
from server.craft.glue.schedule.keep import Old
from server.craft.glue.schedule.keep_stays import KeepStays
from server.craft.glue.schedule.outlook import Outlook, Worth, priced
from server.craft.glue.schedule.serve import Batch, Ints, Table

_FULL = (1.0, 0.9, 0.8)
_FULL_AGAIN = (0.95, 0.85, 0.9, 0.8, 1.0)
_WIDTH, _WAYS = 24, 16
_HELD_WIDTH, _HELD_WAYS = 16, 12
_HELD = 50.0
_SHAKES = (3.0, 1e6)
"""Stacks that are let go: those with most rings moved, or any."""

_ROUNDS, _AGAIN, _FEWEST_ROUNDS = 50, 20, 8
_PRICE_WORK = 500_000
_PASS_WORK = 1_200_000
_WORK = 3_000_000
"""Counted in stacks looked at for one press; of a call for prices, of a passage, of the search."""

_LARGEST = 500_000


class Fewest:
    """The best plan so far: `starts`, with `moved` rings; no plan in time moves below `bound`."""

    def __init__(self, table: Table, goal: Goal, heads: list[list[int]], old: Old) -> None:
        self.table, self.goal, self.old = table, goal, old
        self.outlook = Outlook(table, goal, heads, old.stay)
        self.starts = old.starts
        self.moved = table.problem.ring_count + 1
        self.bound = 0
        self.work = 0

    def search(self, known: Ints, rng: np.random.Generator, give_up: Callable[[], bool]) -> None:
        """From a plan that is known to be in time, as few moves as the work finds."""
        self.starts = known
        self.moved = int(self.old.moved(self.table, Batch.of(self.table, known[None]))[0])
        price, rounds = None, _ROUNDS
        for full in _FULL:
            worth = priced(self.outlook, self.moved, self._rounds(rounds), full, price)
            price, rounds = worth.price, _AGAIN
            self.bound = max(self.bound, min(worth.fewest, self.moved))
            if self._over(give_up):
                return
            self._pass(worth, _WIDTH, _WAYS, rng, give_up)
        turn = 0
        while not self._over(give_up):
            if turn % 3 == 2:
                full = _FULL_AGAIN[turn // 3 % len(_FULL_AGAIN)]
                worth = priced(self.outlook, self.moved, self._rounds(_AGAIN), full, price)
                self._pass(worth, _WIDTH, _WAYS, rng, give_up)
            else:
                stay, hold = self._holding(turn % 3 == 0, rng)
                held = self.outlook.held(stay, hold, _HELD)
                worth = priced(held, self.moved, self._rounds(_AGAIN))
                self._pass(worth, _HELD_WIDTH, _HELD_WAYS, rng, give_up)
            turn += 1

    def _over(self, give_up: Callable[[], bool]) -> bool:
        return self.moved <= self.bound or self.work > _WORK or give_up()

    def _rounds(self, most: int) -> int:
        """Steps for the prices: fewer where each has much to look at."""
        rounds = max(_FEWEST_ROUNDS, min(most, _PRICE_WORK // self.outlook.cost))
        self.work += rounds * self.outlook.cost
        return rounds

    def _pass(
        self,
        worth: Worth,
        width: int,
        ways: int,
        rng: np.random.Generator,
        give_up: Callable[[], bool],
    ) -> None:
        problem = self.table.problem
        plans = _PASS_WORK // (problem.ring_count * len(problem.chains))
        width = max(1, min(width, plans // ways))
        beam = KeepStays(self.table, self.goal, self.old, worth, self.starts, width, ways)
        beam.run(rng, give_up)
        self.work += beam.work
        self.starts, self.moved = beam.starts, beam.best[0]

    def _holding(
        self, by_stack: bool, rng: np.random.Generator
    ) -> tuple[Ints, npt.NDArray[np.bool_]]:
        """The stay of each ring in the best plan, and which are to be held there."""
        table = self.table
        stay = np.searchsorted(table.shuts, self.starts + table.press, side="left")
        away = table.real & (stay != self.old.stay)
        if not by_stack:
            about = int(rng.choice(np.unique(stay[away])))
            return stay, (stay < about - 2) | (stay > about + 3)
        drawn = away.sum(axis=1) + rng.random(len(away)) * float(rng.choice(_SHAKES))
        held = np.ones(table.real.shape, dtype=bool)
        held[np.argsort(-drawn)[: max(2, len(away) // 3)]] = False
        return stay, held


def few_possible(table: Table, target: int) -> bool:
    """There are shop hours, and not too much to look at for a search for the target."""
    stays = int(np.searchsorted(table.shuts, target)) + 1
    return not table.problem.hours.always and table.real.size * stays <= _LARGEST
