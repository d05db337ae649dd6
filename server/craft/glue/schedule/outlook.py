"""What each ring's place costs in moves, stack by stack, with a price on crowded stays.

Every stack alone through the stays is a short path: runs of rings, a run a stay, each ring that
leaves its old stay costing one. Stays that more rings want than fit get a price a tick (Lagrange's
multipliers), raised and lowered until the stacks, each going its own cheapest way, crowd none.
The sum of the paths less the worth of all room is then a number of moves that no plan in time can
go below, and what a ring loses by missing a stay tells what to press in it.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from server.craft.glue.schedule.bounds import usable_lengths
from server.craft.glue.schedule.evolve import Goal
from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.serve import Floats, Ints, Table

NEVER = 1e9
"""What a place costs that leads to no plan in time."""

_PATIENCE = 6
_LONGEST_RUN = 24


@dataclass(frozen=True, slots=True)
class Worth:
    """Prices of a tick in each stay, and the cheapest ways on under them.

    `at[j, i, w]`: for ring j of stack i and those after it when a run of them begins in stay w with
    it; `since[j, i, w]`: when it begins in w or later; both `NEVER` at least where none is in time.
    `run[j, i, w]`: how many rings that run has. No plan moves fewer rings than `fewest`.
    """

    price: Floats
    at: Floats
    since: Floats
    run: Ints
    fewest: int


class Outlook:
    """The ways of every stack through the stays up to a goal; `stay` is each ring's old one."""

    def __init__(self, table: Table, goal: Goal, heads: list[list[int]], stay: Ints) -> None:
        self.table = table
        last = int(goal.latest[table.real].max())
        self.stays = min(int(np.searchsorted(table.shuts, last, side="left")) + 1, len(table.shuts))
        self.away: Floats = (stay.T[:, :, None] != np.arange(self.stays)).astype(np.float64)
        self.room = self._room()
        head = np.zeros_like(table.press)
        for i, row in enumerate(heads):
            head[i, : len(row)] = row
        opens, shuts = table.opens[: self.stays], table.shuts[: self.stays]
        self.longest = min(_LONGEST_RUN, table.wide - 1, self._most(int((shuts - opens).max())))
        self._runs(goal.latest, head)
        first = np.searchsorted(shuts, head[:, 0] + table.press[:, 0], side="left")
        self.first = np.minimum(first, self.stays - 1)

    def held(self, stay: Ints, hold: npt.NDArray[np.bool_], cost: float) -> "Outlook":
        """The same, but it costs so much more to press these rings outside the stays given."""
        copy = object.__new__(Outlook)
        copy.__dict__.update(self.__dict__)
        off = (stay.T[:, :, None] != np.arange(self.stays)) & hold.T[:, :, None]
        copy.away = self.away + np.where(off, cost, 0.0)
        return copy

    @property
    def cost(self) -> int:
        """What one step for the prices costs, in rings looked at by a passage."""
        return 700 + 300 * self.table.wide + self.then.size // 14

    def _room(self) -> Ints:
        """Press time of each stay, over all presses."""
        table = self.table
        opens, shuts = table.opens[: self.stays], table.shuts[: self.stays]
        usable = usable_lengths(table.problem, [int(n) for n in shuts - opens])
        free = np.array(table.problem.free, dtype=np.int64)[:, None]
        room: Ints = np.clip(shuts - np.maximum(opens, free), 0, usable).sum(axis=0)
        return room

    def _most(self, length: int) -> int:
        """The most rings of one stack that a stay of this length can hold."""
        most = 1
        for chain in self.table.problem.chains:
            press = np.array(chain.press, dtype=np.int64)
            ends = np.cumsum(press + np.array((0, *chain.rest[:-1])[: len(press)], dtype=np.int64))
            within = np.searchsorted(ends, ends - press + length, side="right")
            most = max(most, int((within - np.arange(len(press))).max(initial=1)))
        return most

    def _runs(self, latest: Ints, head: Ints) -> None:
        """Which runs fit into which stay, and the first stay for the ring after each."""
        table = self.table
        opens, shuts = table.opens[: self.stays], table.shuts[: self.stays]
        shape = (table.wide, self.longest, len(table.count), self.stays)
        self.fits = np.zeros(shape, dtype=bool)
        self.then = np.full(shape, self.stays, dtype=np.int64)
        for j in range(table.wide - 1):
            end = np.maximum(opens, head[:, j, None])
            good = np.ones(end.shape, dtype=bool)
            for run in range(min(self.longest, table.wide - 1 - j)):
                b = j + run
                end = end + table.press[:, b, None]
                good = good & table.real[:, b, None]
                good = good & (end <= np.minimum(shuts, latest[:, b, None]))
                end = np.where(good, end + table.rest[:, b, None], 0)
                self.fits[j, run] = good
                self.then[j, run] = np.where(good, self._next(end, b + 1), self.stays)

    def _next(self, earliest: Ints, ring: int) -> Ints:
        """For each stack and stay the stay, a later one, in which its ring can be pressed next."""
        table = self.table
        length = np.broadcast_to(table.press[:, ring, None], earliest.shape)
        kind = np.broadcast_to(table.kind[:, ring, None], earliest.shape)
        start = table.fit(np.minimum(earliest, FAR), length, kind)
        found = np.searchsorted(table.shuts, start + length, side="left")
        later: Ints = np.maximum(found, np.arange(self.stays) + 1)
        return np.minimum(later, self.stays)

    def worth(self, price: Floats) -> Worth:
        """The cheapest ways under these prices of a tick."""
        table, chains = self.table, len(self.table.count)
        cost = self.away + table.press.T[:, :, None] * price
        at = np.full((table.wide, chains, self.stays + 1), NEVER)
        since = np.zeros_like(at)
        rings = np.ones(at.shape, dtype=np.int64)
        for j in range(table.wide - 2, -1, -1):
            way = self._ways(j, cost, since)
            rings[j, :, :-1] = way.argmin(axis=0) + 1
            at[j, :, :-1] = way.min(axis=0)
            best = np.minimum.accumulate(at[j, :, ::-1], axis=1)[:, ::-1]
            since[j] = np.where(table.real[:, j, None], best, 0.0)
        total = self.total(since, price, self.room.astype(np.float64))
        fewest = FAR if total >= NEVER / 2 else max(0, math.ceil(total - 1e-6))
        return Worth(price, at, since, rings, fewest)

    def _ways(self, j: int, cost: Floats, since: Floats) -> Floats:
        """What every run that begins with ring j costs in every stay, with all after it."""
        runs = min(self.longest, self.table.wide - 1 - j)
        after = j + 1 + np.arange(runs)[:, None, None]
        on = since[after, np.arange(since.shape[1])[:, None], self.then[j, :runs]]
        on = np.where(after == self.table.count[:, None], 0.0, on)
        return np.where(self.fits[j, :runs], np.cumsum(cost[j : j + runs], axis=0) + on, NEVER)

    def total(self, since: Floats, price: Floats, room: Floats) -> float:
        """All ways together, less what the room is worth."""
        ways = since[0, np.arange(len(self.first)), self.first].sum()
        return float(ways - price @ room)

    def used(self, worth: Worth) -> Ints:
        """Press time in each stay when every stack goes its cheapest way."""
        table = self.table
        used = np.zeros(self.stays + 1, dtype=np.int64)
        worked = np.zeros((table.wide + 1, len(table.count)), dtype=np.int64)
        np.cumsum(table.press.T, axis=0, out=worked[1:])
        stack = np.flatnonzero(table.count)
        ring, stay = np.zeros(len(stack), dtype=np.int64), self.first[stack]
        while len(stack):
            earlier = np.arange(self.stays + 1) < stay[:, None]
            stay = np.where(earlier, 2 * NEVER, worth.at[ring, stack]).argmin(axis=1)
            run = worth.run[ring, stack, stay]
            np.add.at(used, stay, worked[ring + run, stack] - worked[ring, stack])
            here = np.minimum(stay, self.stays - 1)
            stay, ring = self.then[ring, run - 1, stack, here], ring + run
            on = ring < table.count[stack]
            stack, ring, stay = stack[on], ring[on], stay[on]
        return used[:-1]


def priced(
    outlook: Outlook, known: int, rounds: int, full: float = 1.0, since: Floats | None = None
) -> Worth:
    """Prices after so many steps along the subgradient, from none or from those `since`.

    `known` is a number of moves that some plan has. `full` below 1 holds back room in every stay,
    for what will not fit together; `fewest` counts all room however.
    """
    room = outlook.room.astype(np.float64) * full
    price = np.zeros(outlook.stays) if since is None else since
    best = worth = outlook.worth(price)
    best_total, pace, stale = -math.inf, 1.0, 0
    for _ in range(rounds):
        total = outlook.total(worth.since, price, room)
        if total > best_total + 1e-9:
            best, best_total, stale = worth, total, 0
        else:
            stale += 1
        if stale == _PATIENCE:
            pace, stale = pace / 2, 0
        over = outlook.used(worth) - room
        over[(price <= 0) & (over < 0)] = 0
        steep = float(over @ over)
        if not steep or best.fewest >= known:
            break
        price = np.maximum(0.0, price + pace * max(0.5, known - total) / steep * over)
        worth = outlook.worth(price)
    return best
