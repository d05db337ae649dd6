"""From a problem to a plan and a bound: list schedules, bound, evolution, exact sweep.

The effort is counted in rings placed, not in seconds, so that the same input has the same answer.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from server.craft.errors import FieldError
from server.craft.glue.schedule.bounds import (
    Capacity,
    Words,
    chain_bound,
    earliest_starts,
    latest_ends,
    lowest_finish,
)
from server.craft.glue.schedule.evolve import children, evaluate, first, goal_for
from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.mirror import mirrored, read_backwards
from server.craft.glue.schedule.problem import Problem, Span
from server.craft.glue.schedule.serve import Batch, Ints, Table, serve, spans_of
from server.craft.glue.schedule.stays import Stays
from server.craft.glue.schedule.sweep import Found, Sweep

_SEED = 7
_PLANS = 192
_FEWEST_PLANS = 24
_USUAL_STACKS = 12
_EVOLVE_WORK = 220_000
_SWEEP_WORK = 600_000
_PROOF_WORK = 120_000
_LAST_PROOF_WORK = 900_000
_FEW_STACKS = 6
_STAYS_WORK = 170_000
_MOST_BEAMS = 40
_GOALS = (0.0, 0.5, 0.1, 1.0, 0.25)
_FIRST_WIDTH = 128
_WIDEST = 16_384
_PROOF_WIDTHS = (512, 4_096)
_LAST_WIDTHS = (4_096, 32_768)


def _never() -> bool:
    return False


@dataclass(slots=True)
class Search:
    """The best plan so far and what is known about the best possible."""

    problem: Problem
    table: Table
    heads: list[list[int]]
    give_up: Callable[[], bool] = _never
    effort: float = 1.0
    bound: int = 0
    finish: int = FAR
    total: int = FAR
    starts: Ints = field(default_factory=lambda: np.zeros((0, 0), dtype=np.int64))

    @property
    def proven(self) -> bool:
        """The finish cannot be beaten."""
        return self.finish <= self.bound

    @property
    def cost(self) -> float:
        """What one plan costs: a step looks at every stack, beyond a dozen that is felt."""
        stacks = len(self.problem.chains)
        return self.problem.ring_count * max(1.0, stacks / _USUAL_STACKS)

    def spans(self) -> list[Span]:
        """The plan, in order of time."""
        return spans_of(self.table, self.starts) if self.table.count.any() else []

    def consider(self, batch: Batch) -> None:
        """Keep the best plan of a batch if it is better."""
        best = int(np.lexsort((batch.total, batch.finish))[0])
        reached = int(batch.finish[best]), int(batch.total[best])
        if reached < (self.finish, self.total):
            self.finish, self.total = reached
            self.starts = batch.starts[best]


def solve(
    problem: Problem,
    words: Words,
    give_up: Callable[[], bool] = _never,
    effort: float = 1.0,
) -> Search:
    """Plan and bound. Raises `FieldError` with words when some ring can never be pressed.

    `give_up` is asked now and then and ends the search early: a guard for a slow machine.
    `effort` scales the work.
    """
    heads = earliest_starts(problem, words)
    search = Search(problem, Table(problem), heads, give_up, effort, chain_bound(problem, heads))
    if not search.table.count.any():
        search.finish = search.total = search.bound
        return search
    _list(search)
    capacity = Capacity(problem, heads)
    search.bound = lowest_finish(capacity, search.bound, search.finish)
    sweepable = not search.table.joins
    if not search.proven and sweepable:
        _prove(search, _PROOF_WORK, _PROOF_WIDTHS)
    if not search.proven and not problem.hours.always:
        _fill_stays(search)
    if not search.proven:
        _evolve(search)
    if not search.proven and sweepable:
        _sweep(search, _SWEEP_WORK)
    if not search.proven and sweepable:
        few = len(problem.chains) <= _FEW_STACKS
        _prove(search, _LAST_PROOF_WORK if few else _PROOF_WORK, _LAST_WIDTHS)
    return search


def _list(search: Search) -> None:
    """Longest tail, most and least work left, then latest start for a few finishes."""
    table = search.table
    worked = np.cumsum(table.press[:, ::-1], axis=1)[:, ::-1]
    rests = np.where(table.rest >= FAR, 0, table.rest)
    tail = worked + np.cumsum(rests[:, ::-1], axis=1)[:, ::-1] + table.cure[:, None]
    _try(search, [-tail.astype(float), -worked.astype(float), worked.astype(float)])
    if search.finish >= FAR:
        raise FieldError(
            "/hours", "Your shop hours end before all rings can be pressed. Add later hours."
        )
    for finish in (search.bound, (search.bound + search.finish) // 2, search.finish):
        late = latest_ends(search.problem, search.heads, finish)
        if late is not None:
            goal = goal_for(table, finish, late)
            _try(search, [(goal.latest - table.press).astype(float)])


def _try(search: Search, ranks: list[np.ndarray[tuple[int, ...], np.dtype[np.float64]]]) -> None:
    waits = (0.0, 0.6, 1.0)
    rank = np.stack([rank for rank in ranks for _ in waits])
    search.consider(serve(search.table, rank, np.array(waits * len(ranks))))


def _fill_stays(search: Search) -> None:
    """Beams for goals in the gap, wider each time round."""
    rng = np.random.default_rng(_SEED)
    table, work = search.table, 0.0
    plans = search.effort * _STAYS_WORK / search.cost
    for turn in range(_MOST_BEAMS):
        gap = search.finish - 1 - search.bound
        if gap < 0 or work > search.effort * _STAYS_WORK or search.give_up():
            return
        target = search.bound + int(gap * _GOALS[turn % len(_GOALS)])
        late = latest_ends(search.problem, search.heads, target)
        if late is None:
            continue
        wide = min(6 * (1 + turn // len(_GOALS)), max(1, int(math.sqrt(plans / 3))))
        ways = min(16 + 2 * wide, max(3, int(plans / wide)))
        beam = Stays(table, goal_for(table, target, late), rng, wide, ways)
        batch = beam.run(search.give_up)
        work += beam.work * search.cost / search.problem.ring_count
        if batch is not None:
            search.consider(batch)


def _evolve(search: Search) -> None:
    """Generations towards the bound; when they stall, the target moves to the middle of the gap."""
    rng = np.random.default_rng(_SEED)
    table, work = search.table, search.effort * _EVOLVE_WORK / search.cost
    plans = min(_PLANS, max(_FEWEST_PLANS, int(work / 4)))
    generations = max(2, int(work / plans))
    rounds = max(1, min(4, generations // 12))
    for turn in range(rounds):
        target = search.bound + (search.finish - search.bound) * turn // (2 * rounds)
        late = latest_ends(search.problem, search.heads, target)
        if late is None or search.proven:
            return
        goal = goal_for(table, target, late)
        spread = max(1.0, float(target - search.problem.start) / 8)
        population = first(rng, table, goal, plans, spread)
        for _ in range(generations // rounds):
            population, batch = evaluate(table, population, goal)
            search.consider(batch)
            if search.proven or search.finish <= target or search.give_up():
                break
            population = children(rng, table, goal, population, spread)


def _prove(search: Search, budget: float, widths: tuple[int, ...]) -> None:
    """Raise the bound by sweeps that are cut nowhere, in growing steps from where it stands."""
    if any(not length for chain in search.problem.chains for length in chain.press):
        # A press of no time at all may be thought to slip in beside another ring.
        return
    budget *= search.effort
    for width in widths:
        step = 1
        while not search.proven and budget > 0 and not search.give_up():
            finish = min(search.bound + step - 1, search.finish - 1)
            found = _back(search, finish, width, budget, to_prove=True)
            budget -= found.work
            if not found.whole or found.starts is not None:
                found = _forth(search, finish, width, budget, to_prove=True)
                budget -= found.work
            if found.whole and found.starts is None:
                search.bound = finish + 1
                step *= 2
            elif step > 1 and found.starts is None:
                step = 1 if step == 2 else step // 4
            elif found.starts is None:
                break


def _sweep(search: Search, budget: float) -> None:
    """Better plans by wider and wider sweeps, from the end and from the start."""
    width = _FIRST_WIDTH
    budget *= search.effort
    while not search.proven and budget > 0 and width <= _WIDEST:
        low, high = search.bound, search.finish - 1
        failed: list[list[int]] | None = None
        while low <= high and budget > 0 and not search.give_up():
            middle = (low + high) // 2
            late = latest_ends(search.problem, search.heads, middle)
            if late == failed:
                # Nothing ends between here and there: the night lies between.
                low = middle + 1
                continue
            found = _forth(search, middle, width, budget)
            budget -= found.work
            if found.starts is None:
                found = _back(search, middle, width, budget)
                budget -= found.work
            if found.starts is not None:
                high = min(middle, search.finish) - 1
            else:
                low, failed = middle + 1, late
        width *= 4


def _forth(
    search: Search, finish: int, width: int, budget: float, *, to_prove: bool = False
) -> Found:
    late = latest_ends(search.problem, search.heads, finish)
    if late is None:
        return Found(None, True, search.problem.ring_count)
    sweep = Sweep(search.table, goal_for(search.table, finish, late), width)
    found = sweep.run(search.give_up, budget, to_prove=to_prove)
    if found.starts is not None:
        search.consider(Batch.of(search.table, found.starts[None]))
    return found


def _back(
    search: Search, finish: int, width: int, budget: float, *, to_prove: bool = False
) -> Found:
    back = mirrored(search.problem, finish)
    if back is None:
        return Found(None, True, search.problem.ring_count)
    table, goal = back
    found = Sweep(table, goal, width).run(search.give_up, budget, to_prove=to_prove)
    if found.starts is None:
        return found
    if any(free > search.problem.start for free in search.problem.free):
        return Found(None, False, found.work)
    starts = read_backwards(table, found.starts, finish)
    search.consider(Batch.of(search.table, starts[None]))
    _try(search, [starts.astype(float)])
    return Found(starts, found.whole, found.work)
