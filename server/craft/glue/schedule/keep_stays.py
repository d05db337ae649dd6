"""Stay after stay, each filled with the rings that would lose most by missing it.

What a ring loses is told by `outlook.py`: moves of its own and of the rings after it, and the price
of crowded stays to come. Of the plans carried on side by side those are kept that have moved the
fewest and are to move the fewest. A plan that is known goes along: every stay is also filled anew
from where that plan stands before it, and plans that come to where it stands may end as it does.
"""

from collections.abc import Callable

import numpy as np

from server.craft.glue.schedule.evolve import Goal
from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.keep import Old
from server.craft.glue.schedule.outlook import NEVER, Worth
from server.craft.glue.schedule.serve import Batch, Floats, Ints, Run, Table
from server.craft.glue.schedule.stays import Stays

_NOISES = (0.0, 0.05, 0.2, 0.6, 1.5)
_STAY_WORK = 10_000
_WAITS = (0.0, 0.5, 1.0)
_LEAST_LOSSES = (-0.02, -0.02, -0.6, -1.6, -NEVER)
"""What a ring may gain by missing the stay and is still pressed in it when there is room."""

_BY_LOSS, _BY_LOSS_A_TICK, _BY_DUE, _BY_OLD, _BY_RUN, _BY_RUN_AND_LOSS = range(6)


class KeepStays:
    """One passage through the stays, with `width` plans kept, each continued in `ways` ways."""

    def __init__(
        self, table: Table, goal: Goal, old: Old, worth: Worth, guide: Ints, width: int, ways: int
    ) -> None:
        self.table, self.goal, self.old, self.worth, self.guide = table, goal, old, worth, guide
        self.width, self.ways = width, ways
        self.best: tuple[int, int] = (FAR, FAR)
        self.starts = guide
        self.work = 0
        gap = worth.since[:, :, 1:] - worth.at[:, :, :-1]
        self.loss: Floats = np.where(worth.at[:, :, :-1] >= NEVER, -np.inf, np.minimum(gap, NEVER))
        self.lasts = self._run_lengths()
        stay = np.searchsorted(table.shuts, guide + table.press, side="left")
        self.guide_stay = np.where(table.real, stay, FAR)

    def _run_lengths(self) -> Ints:
        """From the first ring's start to the last one's end of the run that is cheapest."""
        table, stays = self.table, self.loss.shape[2]
        rest = np.where(table.rest >= FAR, 0, table.rest)
        ends = np.cumsum(table.press + np.pad(rest[:, :-1], ((0, 0), (1, 0))), axis=1)
        ring = np.arange(table.wide)[:, None, None]
        stack = np.arange(len(table.count))[None, :, None]
        last = np.minimum(ring + self.worth.run[:, :, :stays] - 1, table.wide - 1)
        lengths: Ints = ends[stack, last] - (ends - table.press)[stack, ring]
        return lengths

    def run(self, rng: np.random.Generator, give_up: Callable[[], bool]) -> None:
        """Go through the stays; the best plan in time is in `starts`, its moves in `best`."""
        table = self.table
        self._note(self.guide[None])
        room = Stays(table, self.goal, rng, self.width, self.ways)
        run, guide = Run(table, 1, None), Run(table, 1, None)
        for stay in range(self.loss.shape[2]):
            if give_up() or np.all(guide.done >= table.count):
                return
            if int(run.ready.min()) >= int(table.shuts[stay]):
                self._advance(guide, stay)
                continue
            run = run.beside(guide)
            run = run.take(np.repeat(np.arange(len(run.rows)), self.ways))
            self._fill(run, stay, rng)
            self.work += _STAY_WORK
            self._advance(guide, stay)
            self._join(run, guide)
            run = run.take(self._promising(run, stay, room))
            if not len(run.rows):
                run = guide.take(np.array([0]))

    def _note(self, starts: Ints) -> None:
        """Keep the best of these whole plans if it is in time and better."""
        table = self.table
        batch = Batch.of(table, starts)
        moved, shifted = self.old.moved(table, batch), self.old.shifted(table, batch)
        late = np.maximum(batch.finish - self.goal.finish, 0)
        top = int(np.lexsort((shifted, moved, late))[0])
        key = int(moved[top]), int(shifted[top])
        if not late[top] and key < self.best:
            self.best, self.starts = key, starts[top]

    def _advance(self, guide: Run, stay: int) -> None:
        """Let the plan that is known press what it presses up to the end of this stay."""
        chain, ring = np.nonzero(self.guide_stay <= stay)
        new = ring >= guide.done[0, chain]
        chain, ring = chain[new], ring[new]
        for k in np.lexsort((ring, chain, self.guide[chain, ring])):
            j = int(ring[k])
            start, length = self.guide[None, :, j], self.table.press[None, :, j]
            guide.press(np.array([0]), chain[k : k + 1], start, length)

    def _join(self, run: Run, guide: Run) -> None:
        """Plans that are nowhere behind the known one can go on as it does, or are at an end."""
        table = self.table
        place = table.offset[None, :] + run.done
        ahead = np.where(run.done < table.count, self.guide.ravel()[place], FAR)
        ready = (run.ready <= ahead) | (run.ready >= FAR)
        joins = np.all(ready & (run.done >= guide.done), axis=1)
        joins &= run.free.max(axis=1) <= ahead.min(axis=1)
        rows = np.flatnonzero(joins)
        if len(rows):
            pressed = np.arange(table.wide) < run.done[rows][:, :, None]
            self._note(np.where(pressed, run.starts[rows], self.guide))

    def _fill(self, run: Run, stay: int, rng: np.random.Generator) -> None:
        """One stay; ways differ in noise on what is lost, in what goes first, in what is left."""
        plans, chains = run.done.shape
        noise = rng.choice(_NOISES, size=(plans, 1))
        wait = rng.choice(_WAITS, size=plans)
        manner = rng.integers(_BY_RUN_AND_LOSS + 1, size=plans)
        least = rng.choice(_LEAST_LOSSES, size=plans)
        noise[:: self.ways], wait[:: self.ways], manner[:: self.ways] = 0, 0, _BY_LOSS
        least[:: self.ways] = _LEAST_LOSSES[0]
        bias = rng.standard_normal((plans, chains)) * noise
        active = np.arange(plans)
        while len(active):
            loss = self.loss[run.done[active], np.arange(chains), stay] + bias[active]
            worthy = loss > least[active, None]
            active = self._press_one(run, active, stay, loss, worthy, manner[active], wait[active])
            self.work += len(active) * chains

    def _press_one(
        self,
        run: Run,
        rows: Ints,
        stay: int,
        loss: Floats,
        worthy: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
        manner: Ints,
        wait: Floats,
    ) -> Ints:
        """One more ring in each of these plans, if one still fits; the plans where one did."""
        table = self.table
        place = table.offset[None, :] + run.done[rows]
        length = table.press.ravel()[place]
        begin = np.maximum(run.free[rows].min(axis=1), table.opens[stay])
        start = np.maximum(run.ready[rows], begin[:, None])
        start = np.where(worthy & (start + length <= table.shuts[stay]), start, FAR)
        some = np.flatnonzero((start < FAR).any(axis=1))
        rows, start, length, place = rows[some], start[some], length[some], place[some]
        first = start.min(axis=1)
        soon = first + wait[some] * ((start + length).min(axis=1) - first)
        may = (start == first[:, None]) | (start < soon[:, None])
        rank = self._ranks(run.done[rows], place, stay, loss[some], manner[some, None])
        run.press(rows, np.where(may, rank, np.inf).argmin(axis=1), start, length)
        return rows

    def _ranks(self, ring: Ints, place: Ints, stay: int, loss: Floats, manner: Ints) -> Floats:
        table = self.table
        length = np.maximum(table.press.ravel()[place], 1)
        run = self.lasts[ring, np.arange(ring.shape[1]), stay]
        ranks: Floats = np.select(
            [manner == way for way in range(_BY_RUN_AND_LOSS)],
            [
                -loss,
                -loss / length,
                (self.goal.latest - table.press).ravel()[place],
                self.old.starts.ravel()[place],
                -run,
            ],
            -run * (1 + 0.3 * np.tanh(loss)),
        )
        return ranks

    def _promising(self, run: Run, stay: int, room: Stays) -> Ints:
        """Late for the target first, then the fewest moved so far and in prospect."""
        table, chains = self.table, np.arange(len(self.table.count))
        late, worst = room.late(room.worked[chains, run.done], stay)
        pressed = np.arange(table.wide) < run.done[:, :, None]
        stays = np.searchsorted(table.shuts, run.starts + table.press, side="left")
        away = (pressed & (stays != self.old.stay)).sum(axis=(1, 2))
        moves = away + self._prospect(run, stay)
        live = np.flatnonzero((moves < NEVER / 2) & (run.done < table.count).any(axis=1))
        order = live[np.lexsort((worst[live], moves[live], late[live]))]
        _, where = np.unique(run.done[order], axis=0, return_index=True)
        return order[np.sort(where)[: self.width]]

    def _prospect(self, run: Run, stay: int) -> Floats:
        """What the rings left are to cost, every stack alone, under the prices."""
        table, chains = self.table, np.arange(len(self.table.count))
        place = table.offset[None, :] + run.done
        length = table.press.ravel()[place]
        opens = int(table.opens[min(stay + 1, len(table.shuts) - 1)])
        ready = np.maximum(np.where(run.ready >= FAR, 0, run.ready), opens)
        start = table.fit(ready, length, table.kind.ravel()[place])
        after = np.searchsorted(table.shuts, start + length, side="left")
        after = np.clip(after, stay + 1, self.loss.shape[2])
        ahead: Floats = self.worth.since[run.done, chains, after].sum(axis=1)
        return ahead
