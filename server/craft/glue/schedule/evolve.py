"""Better plans from good ones: ranks are crossed and shaken, the best kept (random keys).

What counts first is the press time that comes too late for the target, since the finish itself
is a staircase of evenings; then the finish, then the sum of the ready times.
"""

from dataclasses import dataclass

import numpy as np

from server.craft.glue.schedule.serve import Batch, Floats, Ints, Table, serve

_ELITE = 0.15
_FRESH = 0.25
_KEEP_GENE = 0.75
_WAITS = (0.0, 0.0, 0.5, 1.0)


@dataclass(frozen=True, slots=True)
class Goal:
    """A finish to reach, and the latest end of each ring that still allows it."""

    finish: int
    latest: Ints


def goal_for(table: Table, finish: int, late: list[list[int]]) -> Goal:
    """The goal as a padded array."""
    latest = np.zeros(table.press.shape, dtype=np.int64)
    for i, row in enumerate(late):
        latest[i, : int(table.count[i])] = row[: int(table.count[i])]
    return Goal(finish, latest)


def lateness(table: Table, batch: Batch, goal: Goal) -> Ints:
    """Press time of each plan that ends too late for the goal."""
    late = (batch.ends(table) > goal.latest[None, :, :]) & table.real[None, :, :]
    total: Ints = np.where(late, table.press[None, :, :], 0).sum(axis=(1, 2))
    return np.where(batch.finish <= goal.finish, 0, total)


def standing(table: Table, batch: Batch, goal: Goal) -> Ints:
    """Plan numbers, best first."""
    late = lateness(table, batch, goal)
    return np.lexsort((batch.total, np.maximum(batch.finish, goal.finish), late))


@dataclass(slots=True)
class Population:
    """Ranks and waits of plans, best first."""

    rank: Floats
    wait: Floats


def shaken(rng: np.random.Generator, table: Table, goal: Goal, plans: int, spread: float) -> Floats:
    """Ranks by latest start, with noise for each ring and for each chain."""
    base = (goal.latest - table.press).astype(np.float64)
    scale = spread * rng.choice([0.05, 0.2, 0.6, 2.0], size=(plans, 1, 1))
    noise = rng.standard_normal((plans, *base.shape)) * (rng.random((plans, 1, 1)) < 0.7)
    return base[None] + scale * (noise + rng.standard_normal((plans, len(base), 1)))


def first(
    rng: np.random.Generator, table: Table, goal: Goal, plans: int, spread: float
) -> Population:
    """A population of shaken ranks."""
    wait = rng.choice(_WAITS, size=plans)
    return Population(shaken(rng, table, goal, plans, spread), wait)


def children(
    rng: np.random.Generator, table: Table, goal: Goal, sorted_now: Population, spread: float
) -> Population:
    """The next generation: the elite as it is, crossed ranks with a little noise, fresh ones."""
    plans = len(sorted_now.wait)
    elite, fresh = max(1, int(plans * _ELITE)), int(plans * _FRESH)
    crossed = plans - elite - fresh
    one, other = rng.integers(elite, size=crossed), rng.integers(plans, size=crossed)
    keep = rng.random((crossed, *sorted_now.rank.shape[1:])) < _KEEP_GENE
    rank = np.where(keep, sorted_now.rank[one], sorted_now.rank[other])
    touched = rng.random(rank.shape) < 0.1
    rank += touched * rng.standard_normal(rank.shape) * spread * 0.2
    wait = np.where(rng.random(crossed) < 0.9, sorted_now.wait[one], rng.choice(_WAITS, crossed))
    new = first(rng, table, goal, fresh, spread)
    return Population(
        np.concatenate([sorted_now.rank[:elite], rank, new.rank]),
        np.concatenate([sorted_now.wait[:elite], wait, new.wait]),
    )


def evaluate(table: Table, population: Population, goal: Goal) -> tuple[Population, Batch]:
    """The population and its plans, best first."""
    batch = serve(table, population.rank, population.wait)
    order = standing(table, batch, goal)
    return (
        Population(population.rank[order], population.wait[order]),
        Batch(batch.starts[order], batch.finish[order], batch.total[order]),
    )
