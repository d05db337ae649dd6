"""Breadth-first search for a plan that ends by a given finish: exact while nothing is cut off.

All partial plans with the same number of rings placed form a layer. A plan that is later in every
respect than another with the same rings placed is dropped, and so is one whose rings can no
longer all be in time. Beyond `width` plans a layer the search keeps the most promising, and an
empty answer then proves nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from server.craft.glue.schedule.bounds import usable_lengths
from server.craft.glue.schedule.evolve import Goal
from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.serve import Ints, Table

Flags = npt.NDArray[np.bool_]

_NEIGHBOURS = 8
_LAYER_WORK = 200
_MOST_DEADLINES = 16


@dataclass(frozen=True, slots=True)
class Found:
    """Starts of a plan in time (or None), whether the whole space was seen, placements made."""

    starts: Ints | None
    whole: bool
    work: int


@dataclass(slots=True)
class _Layer:
    """Plans in the making; `due` is the press time still due by each deadline."""

    done: Ints
    ready: Ints
    free: Ints
    due: Ints

    def take(self, rows: Ints | Flags) -> "_Layer":
        return _Layer(self.done[rows], self.ready[rows], self.free[rows], self.due[rows])


class Sweep:
    """The search for one goal, for stacks that wait for no other."""

    def __init__(self, table: Table, goal: Goal, width: int) -> None:
        self.table, self.width = table, width
        self.must = np.where(table.real, goal.latest - table.press, FAR)
        self.trail: list[tuple[Ints, Ints, Ints]] = []
        self.work = 0
        self._deadlines(goal)

    def _deadlines(self, goal: Goal) -> None:
        """For a handful of deadlines: press time due by then of each chain, and room until then."""
        table = self.table
        ends = np.unique(goal.latest[table.real])
        pick = np.unique(np.linspace(0, len(ends) - 1, _MOST_DEADLINES).astype(np.int64))
        self.deadline = ends[pick]
        late = np.where(table.real, goal.latest, FAR)[:, :, None] > self.deadline
        self.due = np.where(late, 0, table.press[:, :, None])
        lengths = [int(n) for n in table.shuts - table.opens[:-1]]
        self.usable = usable_lengths(table.problem, lengths)
        self.upto = np.concatenate([[0], np.cumsum(self.usable)]).astype(np.int64)
        self.idle = np.array(lengths, dtype=np.int64) - self.usable
        self.shut = self._pressed_until(self.deadline, idle_first=False)

    def run(
        self, give_up: Callable[[], bool], most_work: float, *, to_prove: bool = False
    ) -> Found:
        """Search, one ring a layer. `to_prove`: not beyond the layer that is too wide."""
        table = self.table
        layer = _Layer(
            np.zeros((1, len(table.count)), dtype=np.int64),
            table.release[None, :].copy(),
            np.sort(np.array(table.problem.free, dtype=np.int64))[None, :],
            self.due.sum(axis=(0, 1))[None, :],
        )
        whole = True
        for _ in range(int(table.count.sum())):
            if give_up() or self.work > most_work:
                return Found(None, False, self.work)
            layer = self._next(layer)
            if not len(layer.done):
                return Found(None, whole, self.work)
            if len(layer.done) > self.width:
                if to_prove:
                    return Found(None, False, self.work)
                whole = False
                layer = self._cut(layer)
        return Found(self._starts(), whole, self.work)

    def _next(self, layer: _Layer) -> _Layer:
        table = self.table
        start, length = self._earliest(layer)
        soon = (start + length).min(axis=1)
        first = start.min(axis=1)
        eligible = (start < soon[:, None]) | (start == first[:, None])
        alive: Flags = np.all(start <= self._must(layer.done), axis=1)
        parent, chosen = np.nonzero(eligible & alive[:, None] & (start < FAR))
        self.work += len(parent) * len(table.count) // 4 + _LAYER_WORK
        kids = layer.take(parent)
        rows = np.arange(len(parent))
        begin = start[parent, chosen]
        end = begin + length[parent, chosen]
        ring = kids.done[rows, chosen]
        kids.ready[rows, chosen] = end + table.rest[chosen, ring]
        kids.due -= self.due[chosen, ring]
        kids.done[rows, chosen] += 1
        kids.free[:, 0] = end
        kids.free.sort(axis=1)
        good = self._settle(kids)
        kids = kids.take(good)
        index, kids = self._undominated(kids)
        keep = np.flatnonzero(good)[index]
        self.trail.append((parent[keep], chosen[keep], begin[keep]))
        return kids

    def _earliest(self, layer: _Layer) -> tuple[Ints, Ints]:
        table = self.table
        place = table.offset[None, :] + layer.done
        length = table.press.ravel()[place]
        earliest = np.maximum(layer.ready, layer.free[:, :1])
        return table.fit(earliest, length, table.kind.ravel()[place]), length

    def _must(self, done: Ints) -> Ints:
        must: Ints = self.must.ravel()[self.table.offset[None, :] + done]
        return np.where(must >= FAR, 4 * FAR, must)

    def _settle(self, kids: _Layer) -> Flags:
        """Round every time up to when it can matter; says which plans can still be in time."""
        start, _ = self._earliest(kids)
        over = kids.done >= self.table.count[None, :]
        kids.ready = np.where(over, FAR, start)
        in_time: Flags = np.all(over | (start <= self._must(kids.done)), axis=1)
        soonest = kids.ready.min(axis=1)
        kids.free = np.minimum(np.maximum(kids.free, soonest[:, None]), FAR)
        return in_time & self._roomy(kids)

    def _roomy(self, kids: _Layer) -> Flags:
        """Whether what is due by each deadline still fits between now and then."""
        room = np.zeros_like(kids.due)
        for press in range(kids.free.shape[1]):
            gone = self._pressed_until(kids.free[:, press], idle_first=True)
            room += np.maximum(self.shut[None] - gone[:, None], 0)
        roomy: Flags = np.all(kids.due <= room, axis=1)
        return roomy

    def _pressed_until(self, time: Ints, *, idle_first: bool) -> Ints:
        """What a press can do from the first opening until `time`, or at least has done by then.

        A stay holds no more than press lengths add up to; what is idle of it may lie first.
        """
        at = np.searchsorted(self.table.opens[:-1], time, side="right") - 1
        inside = np.minimum(time, self.table.shuts[at]) - self.table.opens[at]
        inside -= self.idle[at] if idle_first else 0
        done = np.clip(inside, 0, self.usable[at])
        passed: Ints = np.where(at < 0, 0, self.upto[at] + done)
        return passed

    def _undominated(self, kids: _Layer) -> tuple[Ints, _Layer]:
        """Drop plans that a near neighbour in the order of their times beats in every respect."""
        load = np.where(kids.ready >= FAR, 0, kids.ready).sum(axis=1) + kids.free.sum(axis=1)
        order = np.lexsort((load, *kids.done.T))
        times = np.column_stack([kids.ready, kids.free])[order]
        done = kids.done[order]
        beaten = np.zeros(len(order), dtype=bool)
        for step in range(1, min(_NEIGHBOURS, len(order) - 1) + 1):
            same: Flags = np.all(done[step:] == done[:-step], axis=1)
            beaten[step:] |= same & (times[:-step] <= times[step:]).all(axis=1)
        kept = order[~beaten]
        return kept, kids.take(kept)

    def _cut(self, layer: _Layer) -> _Layer:
        slack = (self._must(layer.done) - np.minimum(layer.ready, FAR)).min(axis=1)
        live = np.where(layer.ready >= FAR, 0, layer.ready).sum(axis=1)
        load = live + 2 * layer.free.sum(axis=1) - np.minimum(slack, FAR)
        keep = np.sort(np.argsort(load, kind="stable")[: self.width])
        parent, chosen, begin = self.trail[-1]
        self.trail[-1] = (parent[keep], chosen[keep], begin[keep])
        return layer.take(keep)

    def _starts(self) -> Ints:
        """Walk back from the first full plan."""
        table = self.table
        starts = np.full(table.press.shape, FAR, dtype=np.int64)
        left = table.count.copy()
        row = 0
        for parent, chosen, begin in reversed(self.trail):
            i = int(chosen[row])
            left[i] -= 1
            starts[i, left[i]] = begin[row]
            row = int(parent[row])
        return starts
