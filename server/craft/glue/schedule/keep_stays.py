"""Stay after stay, as the older plan had it: what does not fit goes on to the next, the fewest.

A slip that makes one stay too short pushes a ring into the next, which pushes another: found by
filling the stays in order and keeping the plans in which the fewest rings are out of their place.
"""

from collections.abc import Callable

import numpy as np

from server.craft.glue.schedule.evolve import Goal
from server.craft.glue.schedule.keep import Old
from server.craft.glue.schedule.serve import Batch, Ints, Run, Table
from server.craft.glue.schedule.stays import Stays

_WIDTH = 24
_WAYS = 16


class KeepStays(Stays):
    """The beam of `stays.py`, its plans judged by how many rings have left their stay."""

    def __init__(self, table: Table, goal: Goal, old: Old, rng: np.random.Generator) -> None:
        super().__init__(table, goal, rng, _WIDTH, _WAYS)
        self.old = old
        self.must = old.starts.astype(np.float64)
        self.floor = np.where(old.stay < 0, 0, old.opens[np.clip(old.stay, 0, None)])

    def _best(self, run: Run, window: int) -> Ints:
        """Late for the target first, then the fewest moved, for certain and so far."""
        table, column = self.table, np.arange(self.table.wide)
        done = self.worked[np.arange(len(table.count))[None, :], run.done]
        late, worst = self._late(done, window)
        pressed = column[None, None, :] < run.done[:, :, None]
        stays = np.searchsorted(table.shuts, run.starts + table.press[None], side="left")
        away = pressed & (stays != self.old.stay[None])
        overdue = table.real[None] & ~pressed & (self.old.stay[None] <= window)
        moved = (away | overdue).sum(axis=(1, 2))
        left = np.where(overdue, table.press[None], 0).sum(axis=(1, 2))
        order = np.lexsort((worst, left, moved, late))
        _, where = np.unique(run.done[order], axis=0, return_index=True)
        return order[np.sort(where)[: self.width]]


def stay_by_stay(
    table: Table, goal: Goal, old: Old, rng: np.random.Generator, give_up: Callable[[], bool]
) -> Batch | None:
    """Plans found so, or None where there are no hours, or where none came to an end."""
    if table.problem.hours.always:
        return None
    return KeepStays(table, goal, old, rng).run(give_up)
