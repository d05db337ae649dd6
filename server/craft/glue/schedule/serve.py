"""Many plans at once by list scheduling: whichever ring may go in next, the one of least rank.

A plan is told by a rank for each ring and by how long a free press may wait for a better ring.
All plans of a batch take their steps together, one ring each, so that numpy does the work.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.problem import Problem, Span

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


class Table:
    """A problem as padded arrays: row per chain, column per ring, one column behind the last."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        chains = problem.chains
        self.wide = max((len(c.press) for c in chains), default=0) + 1
        self.count = np.array([len(c.press) for c in chains], dtype=np.int64)
        self.cure = np.array([c.cure for c in chains], dtype=np.int64)
        self.press = np.zeros((len(chains), self.wide), dtype=np.int64)
        self.rest = np.full((len(chains), self.wide), FAR, dtype=np.int64)
        self.release = np.full(len(chains), FAR, dtype=np.int64)
        for i, chain in enumerate(chains):
            self.press[i, : len(chain.press)] = chain.press
            self.rest[i, : max(0, len(chain.press) - 1)] = chain.rest[:-1]
            if chain.press and not chain.after:
                self.release[i] = max(chain.release, problem.start)
        self.real = np.arange(self.wide)[None, :] < self.count[:, None]
        self._hours()
        self.offset = np.arange(len(chains), dtype=np.int64) * self.wide
        self.joins = [i for i in problem.order if chains[i].after]

    def _hours(self) -> None:
        hours = self.problem.hours
        self.opens = np.array([*hours.opens, FAR], dtype=np.int64)
        self.shuts = np.array(hours.shuts, dtype=np.int64)
        lengths, self.kind = np.unique(self.press, return_inverse=True)
        self.kind = self.kind.reshape(self.press.shape)
        self.next_long = np.array([hours.next_long(int(n)) for n in lengths], dtype=np.int64)

    def fit(self, earliest: Ints, length: Ints, kind: Ints) -> Ints:
        """`Hours.fit` over arrays."""
        window = np.searchsorted(self.shuts, earliest + length, side="left")
        fitting: Ints = np.maximum(earliest, self.opens[self.next_long[kind, window]])
        return fitting


@dataclass(frozen=True, slots=True)
class Batch:
    """Plans side by side: start of ring j of chain i in plan n, and what each plan reaches."""

    starts: Ints
    finish: Ints
    total: Ints

    @classmethod
    def of(cls, table: Table, starts: Ints) -> "Batch":
        """Whole plans that are told by their starts."""
        last, row = np.maximum(table.count - 1, 0), np.arange(len(table.count))
        cured = starts[:, row, last] + table.press[row, last] + table.cure
        cured = np.where(table.count > 0, cured, table.problem.start)
        return cls(starts, cured.max(axis=1), cured.sum(axis=1))

    def ends(self, table: Table) -> Ints:
        """When each ring comes out of the press."""
        return self.starts + table.press[None, :, :]


def serve(table: Table, rank: Floats, wait: Floats, floor: Ints | None = None) -> Batch:
    """One plan for each row of `rank` (plans × chains × rings); unreachable ones finish at `FAR`.

    `wait` 0 takes the best ring that can start first, 1 lets the press wait for a better one as
    long as no other ring could be done meanwhile. No ring starts before its `floor`.
    """
    run = Run(table, len(rank), floor)
    for _ in range(int(table.count.sum())):
        run.step(rank, wait)
    return run.batch()


class Run:
    """Plans in the making, a row each."""

    def __init__(self, table: Table, plans: int, floor: Ints | None) -> None:
        self.table, self.floor = table, floor
        chains = len(table.count)
        self.rows = np.arange(plans)
        self.done = np.zeros((plans, chains), dtype=np.int64)
        self.ready = np.repeat(table.release[None, :], plans, axis=0)
        self.free = np.repeat(np.array(table.problem.free, dtype=np.int64)[None, :], plans, axis=0)
        self.cured = np.full((plans, chains), FAR, dtype=np.int64)
        self.starts = np.full((plans, chains, table.wide), FAR, dtype=np.int64)
        for i in table.problem.order:
            if not table.problem.chains[i].press or table.problem.chains[i].after:
                self._open(i)

    def step(self, rank: Floats, wait: Floats) -> None:
        """Place one ring in every plan."""
        table, rows = self.table, self.rows
        place = table.offset[None, :] + self.done
        length = table.press.ravel()[place]
        earliest = np.maximum(self.ready, self.free.min(axis=1)[:, None])
        if self.floor is not None:
            flat = self.floor.reshape(len(self.floor), -1)
            earliest = np.maximum(earliest, np.take_along_axis(flat, place, axis=1))
        start = table.fit(earliest, length, table.kind.ravel()[place])
        first = start.min(axis=1)
        soon = first + wait * ((start + length).min(axis=1) - first)
        at = np.take_along_axis(rank.reshape(len(rows), -1), place, axis=1)
        may = (start == first[:, None]) | (start < soon[:, None])
        self.press(rows, np.where(may, at, np.inf).argmin(axis=1), start, length)

    def press(self, rows: Ints, chosen: Ints, start: Ints, length: Ints) -> None:
        """In each of these plans put the next ring of the chosen chain into a press.

        `start` and `length` have one row for each of `rows` and a column for each chain.
        """
        table, here = self.table, np.arange(len(rows))
        ring = self.done[rows, chosen]
        begin = start[here, chosen]
        end = begin + length[here, chosen]
        self.starts[rows, chosen, ring] = begin
        self.ready[rows, chosen] = end + table.rest[chosen, ring]
        self.done[rows, chosen] = ring + 1
        self.free[rows, self.free[rows].argmin(axis=1)] = end
        last = ring + 1 == table.count[chosen]
        self.cured[rows[last], chosen[last]] = (end + table.cure[chosen])[last]
        for i in table.joins:
            self._open(i)

    def take(self, rows: Ints) -> "Run":
        """A copy with these rows only, as often as they are named."""
        copy = object.__new__(Run)
        copy.table, copy.floor = self.table, self.floor
        copy.rows = np.arange(len(rows))
        for name in ("done", "ready", "free", "cured", "starts"):
            setattr(copy, name, getattr(self, name)[rows])
        return copy

    def beside(self, other: "Run") -> "Run":
        """These plans and those."""
        both = object.__new__(Run)
        both.table, both.floor = self.table, self.floor
        for name in ("done", "ready", "free", "cured", "starts"):
            setattr(both, name, np.concatenate([getattr(self, name), getattr(other, name)]))
        both.rows = np.arange(len(both.done))
        return both

    def _open(self, i: int) -> None:
        """Let a joining chain begin in the plans where all it joins have been pressed."""
        if not self.table.problem.chains[i].press:
            self.cured[:, i] = self._begin(i)
            return
        waiting = self.done[:, i] == 0
        self.ready[waiting, i] = self._begin(i)[waiting]

    def _begin(self, i: int) -> Ints:
        chain = self.table.problem.chains[i]
        begin = np.full(
            len(self.rows), max(chain.release, self.table.problem.start), dtype=np.int64
        )
        for a in chain.after:
            begin = np.maximum(begin, np.minimum(self.cured[:, a] + chain.turn, FAR))
        return begin

    def batch(self) -> Batch:
        """What the plans came to."""
        cured = np.minimum(self.cured, FAR)
        finish = cured.max(axis=1)
        total = np.where(finish >= FAR, FAR, cured.sum(axis=1))
        return Batch(self.starts, finish, total)


def spans_of(table: Table, starts: Ints) -> list[Span]:
    """One plan's rings, each given the press that has been free for the shortest while."""
    free = list(table.problem.free)
    chain, ring = np.nonzero(table.real)
    begin = starts[chain, ring]
    spans = []
    for k in np.lexsort((ring, chain, begin + table.press[chain, ring], begin)):
        i, j, start = int(chain[k]), int(ring[k]), int(begin[k])
        press = max((p for p, f in enumerate(free) if f <= start), key=lambda p: (free[p], -p))
        free[press] = start + int(table.press[i, j])
        spans.append(Span(start, free[press], i, j, press))
    return spans
