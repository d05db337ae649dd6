"""Filling one stay in the shop after another, keeping several plans side by side (a beam).

Each kept plan fills the next stay in many ways, by latest start with noise. Kept are those that
leave the least press time too late for the goal over all later stays.
"""

from collections.abc import Callable

import numpy as np

from server.craft.glue.schedule.bounds import usable_lengths
from server.craft.glue.schedule.evolve import Goal
from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.serve import Batch, Floats, Ints, Run, Table

_WAITS = (0.0, 0.5, 1.0)
_NOISES = (0.0, 0.02, 0.1, 0.5, 2.0)
_MOST_CHECKED = 28


class Stays:
    """The beam for one goal: `width` plans kept, each continued in `ways` ways."""

    def __init__(self, table: Table, goal: Goal, rng: np.random.Generator, width: int, ways: int):
        self.table, self.goal, self.rng, self.width, self.ways = table, goal, rng, width, ways
        self.must = (goal.latest - table.press).astype(np.float64)
        chains = len(table.count)
        worked = np.cumsum(table.press, axis=1)
        self.worked = np.column_stack([np.zeros(chains, dtype=np.int64), worked])
        last = int(goal.latest[table.real].max())
        self.final = int(np.searchsorted(table.shuts, last, side="left"))
        shuts = table.shuts[: self.final + 1]
        due = np.where(table.real, goal.latest, FAR)[None] <= shuts[:, None, None]
        self.due = np.where(due, table.press[None], 0).sum(axis=2)
        lengths = (table.shuts - table.opens[:-1])[: self.final + 1]
        room = usable_lengths(table.problem, [int(n) for n in lengths]) * len(table.problem.free)
        self.upto = np.concatenate([[0], np.cumsum(room)])
        self.work = 0

    def run(self, give_up: Callable[[], bool]) -> Batch | None:
        """The plans that the beam ends with, or None when it gives up or the hours give out."""
        run = Run(self.table, 1, None)
        count = self.table.count[None, :]
        for window in range(len(self.table.shuts)):
            if int(run.ready.min()) >= int(self.table.shuts[window]):
                continue
            if give_up():
                return None
            run = run.take(np.repeat(np.arange(len(run.rows)), self.ways))
            self._fill(run, window)
            full = np.all(run.done >= count, axis=1)
            if full.any():
                return run.take(np.flatnonzero(full)).batch()
            run = run.take(self._best(run, window))
        return None

    def _fill(self, run: Run, window: int) -> None:
        """One stay, every plan with its own noise; the first way of each plan has none."""
        plans, chains = run.done.shape
        spread = float(np.ptp(self.must[self.table.real])) / 10 + 1
        noise = self.rng.choice(_NOISES, size=(plans, 1)) * spread
        noise[:: self.ways] = 0
        wait = self.rng.choice(_WAITS, size=plans)
        wait[:: self.ways] = 0
        opens, shuts = int(self.table.opens[window]), int(self.table.shuts[window])
        bias = self.rng.standard_normal((plans, chains))
        active = np.arange(plans)
        while len(active):
            fresh = self.rng.standard_normal((len(active), chains))
            shake = np.where(active[:, None] % 2, fresh, bias[active]) * noise[active]
            active = self._press_one(run, active, shake, wait[active], opens, shuts)
            self.work += len(active)

    def _press_one(
        self, run: Run, rows: Ints, shake: Floats, wait: Floats, opens: int, shuts: int
    ) -> Ints:
        """One more ring in each of these plans, if one still fits; the plans where one did."""
        table = self.table
        place = table.offset[None, :] + run.done[rows]
        length = table.press.ravel()[place]
        begin = np.maximum(run.free[rows].min(axis=1), opens)
        start = np.maximum(run.ready[rows], begin[:, None])
        fits = start + length <= shuts
        some = fits.any(axis=1)
        rows, start, length, fits = rows[some], start[some], length[some], fits[some]
        start = np.where(fits, start, FAR)
        first = start.min(axis=1)
        soon = first + wait[some] * ((start + length).min(axis=1) - first)
        may = (start == first[:, None]) | (start < soon[:, None])
        rank = self.must.ravel()[place[some]] + shake[some]
        run.press(rows, np.where(may, rank, np.inf).argmin(axis=1), start, length)
        return rows

    def _best(self, run: Run, window: int) -> Ints:
        """The plans worth keeping, one for each set of rings done."""
        done = self.worked[np.arange(len(self.table.count))[None, :], run.done]
        late, worst = self.late(done, window)
        left = self.worked[:, -1].sum() - done.sum(axis=1)
        ready = np.where(run.ready >= FAR, 0, run.ready).sum(axis=1)
        order = np.lexsort((ready, left, worst, late))
        _, where = np.unique(run.done[order], axis=0, return_index=True)
        return order[np.sort(where)[: self.width]]

    def late(self, done: Ints, window: int) -> tuple[Ints, Ints]:
        """Press time beyond the room of later stays, summed and at its worst."""
        after = np.arange(window, self.final + 1)
        if len(after) > _MOST_CHECKED:
            pick = np.geomspace(1, len(after), _MOST_CHECKED).astype(np.int64)
            after = after[np.unique(pick) - 1]
        if not len(after):
            return np.zeros(len(done), dtype=np.int64), np.zeros(len(done), dtype=np.int64)
        due = np.clip(self.due[after][None] - done[:, None, :], 0, None).sum(axis=2)
        over = due - (self.upto[after + 1] - self.upto[window + 1])[None, :]
        return np.clip(over, 0, None).sum(axis=1), over.max(axis=1)
