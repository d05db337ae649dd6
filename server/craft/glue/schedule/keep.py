"""A plan that moves the fewest rings away from where an older plan had them.

A ring has moved when it is pressed on another stay in the shop (with no hours: another day).
Plans are told by ranks, as in `serve.py`, and by the stay before which each ring may not begin.
"""

from dataclasses import dataclass

import numpy as np

from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.serve import Batch, Floats, Ints, Table, serve

_PLANS = 128
_ELITE = 24
_STEPS = (0, 0, 0, 1, 1, -1, 2)
_RUN_STEPS = (0, 0, 1, 1, 2, 3, -1)
_RUNS = 0.5

_Key = tuple[int, int, int]
"""How late for the target, rings moved, by how much the rings' times change."""


@dataclass(frozen=True, slots=True)
class Old:
    """The older plan of what is left: start of each ring, and its stay (-1: that stay is gone).

    `opens` is the first tick of each stay or day; stays are numbered from 0.
    """

    starts: Ints
    stay: Ints
    opens: Ints

    def stays_of(self, table: Table, batch: Batch) -> Ints:
        """Number of the stay or day of every ring in every plan."""
        if table.problem.hours.always:
            days: Ints = np.searchsorted(self.opens, batch.starts, side="right") - 1
            return days
        return np.searchsorted(table.shuts, batch.ends(table), side="left")

    def moved(self, table: Table, batch: Batch) -> Ints:
        """How many rings of each plan have moved."""
        away = (self.stays_of(table, batch) != self.stay[None]) & table.real[None]
        count: Ints = away.sum(axis=(1, 2))
        return count

    def shifted(self, table: Table, batch: Batch) -> Ints:
        """By how much the rings of each plan start earlier or later, summed."""
        apart = np.abs(np.minimum(batch.starts, FAR >> 12) - self.starts[None])
        shift: Ints = np.where(table.real[None], apart, 0).sum(axis=(1, 2))
        return shift


@dataclass(slots=True)
class _Genes:
    rank: Floats
    stay: Ints
    wait: Floats

    def take(self, rows: Ints) -> "_Genes":
        return _Genes(self.rank[rows], self.stay[rows], self.wait[rows])


def keep_most(
    table: Table,
    old: Old,
    target: int,
    generations: int,
    rng: np.random.Generator,
    known: Ints,
) -> Ints:
    """Starts of the plan found that ends by `target` with the fewest rings moved.

    The first plan tried serves in the old order and on the old stays; `known` is a plan to begin
    with. Of plans that move equally few, the one whose times change least. When none ends by the
    target, the one that ends soonest.
    """
    genes = _first(table, old, rng)
    begin = Batch.of(table, known[None])
    _, best_key, best = _standing(table, old, target, begin)
    _plant(table, old, genes, begin)
    for turn in range(generations):
        batch = serve(table, genes.rank, genes.wait, _floors(old, genes.stay))
        order, key, starts = _standing(table, old, target, batch)
        if key < best_key:
            best_key, best = key, starts
        if turn + 1 < generations:
            genes = _children(table, old, genes.take(order), rng)
    return best


def _standing(table: Table, old: Old, target: int, batch: Batch) -> tuple[Ints, _Key, Ints]:
    """Plans from the best on; how good the best is, and its starts."""
    moved, shifted = old.moved(table, batch), old.shifted(table, batch)
    late = np.maximum(batch.finish - target, 0)
    order = np.lexsort((shifted, moved, late))
    top = int(order[0])
    return order, (int(late[top]), int(moved[top]), int(shifted[top])), batch.starts[top]


def _floors(old: Old, stay: Ints) -> Ints:
    opens: Ints = old.opens[np.clip(stay, 0, len(old.opens) - 1)]
    return opens


def _first(table: Table, old: Old, rng: np.random.Generator) -> _Genes:
    rank = np.repeat(old.starts[None].astype(np.float64), _PLANS, axis=0)
    stay = np.repeat(old.stay[None], _PLANS, axis=0)
    genes = _Genes(rank, stay, rng.choice([0.0, 1.0], size=_PLANS))
    genes.wait[0] = 0.0
    genes.stay[1] = 0
    _mutate(table, old, genes, np.arange(2, _PLANS), rng)
    return genes


def _plant(table: Table, old: Old, genes: _Genes, known: Batch) -> None:
    """Let the last two plans of the first generation keep its stays, in its order and the old."""
    genes.stay[-2:] = old.stays_of(table, known)
    genes.wait[-2:] = 0.0
    genes.rank[-2] = old.starts
    genes.rank[-1] = known.starts[0]


def _children(table: Table, old: Old, best: _Genes, rng: np.random.Generator) -> _Genes:
    one, other = rng.integers(_ELITE, size=_PLANS), rng.integers(_ELITE, size=_PLANS)
    one[:_ELITE] = other[:_ELITE] = np.arange(_ELITE)
    by_chain = rng.random((_PLANS, len(table.count), 1)) < 0.7
    genes = _Genes(
        np.where(by_chain, best.rank[one], best.rank[other]),
        np.where(by_chain, best.stay[one], best.stay[other]),
        best.wait[one].copy(),
    )
    _mutate(table, old, genes, np.arange(_ELITE, _PLANS), rng)
    return genes


def _runs_moved(table: Table, old: Old, stay: Ints, rng: np.random.Generator) -> Ints:
    """In every other plan a run of rings of one chain goes to other stays together, or home."""
    plans = len(stay)
    chain = rng.integers(len(table.count), size=plans)
    begin = (rng.random(plans) * table.count[chain]).astype(np.int64)
    length = rng.geometric(0.25, size=plans)
    column = np.arange(table.wide)[None, :]
    run = (column >= begin[:, None]) & (column < (begin + length)[:, None])
    here = (np.arange(len(table.count))[None, :] == chain[:, None])[:, :, None] & run[:, None, :]
    here &= (rng.random(plans) < _RUNS)[:, None, None]
    step = rng.choice(_RUN_STEPS, size=plans)[:, None, None]
    gone: Ints = np.where(step == 0, old.stay[None], np.maximum(stay + step, 0))
    return np.where(here, gone, stay)


def _mutate(table: Table, old: Old, genes: _Genes, rows: Ints, rng: np.random.Generator) -> None:
    """Move a few rings to another stay or in rank; often back to where they were."""
    shape = (len(rows), *table.real.shape)
    rate = rng.choice([0.01, 0.03, 0.1], size=(len(rows), 1, 1))
    shift = rng.choice(_STEPS, size=shape) * (rng.random(shape) < rate * 3)
    genes.stay[rows] = np.maximum(genes.stay[rows] + shift, 0)
    home = rng.random(shape) < rate * 2
    genes.stay[rows] = np.where(home, old.stay[None], genes.stay[rows])
    genes.stay[rows] = _runs_moved(table, old, genes.stay[rows], rng)
    spread = float(np.ptp(old.starts[table.real])) / 12 + 1
    shake = rng.standard_normal(shape) * (rng.random(shape) < rate) * spread
    genes.rank[rows] += shake
    swap = rng.random(len(rows)) < 0.1
    genes.wait[rows[swap]] = 1.0 - genes.wait[rows[swap]]
