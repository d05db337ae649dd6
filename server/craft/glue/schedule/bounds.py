"""What no plan can beat: each stack alone in the shop, and spans that are too full.

Chain bound: each stack through the shop hours as if it were alone. Capacity bound: in any span
the presses due in it cannot take longer than the presses can run in it (energy reasoning).
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from server.craft.errors import FieldError
from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.problem import Problem, earliest_start

Words = Callable[[int], str]
Ints = npt.NDArray[np.int64]

_MOST_SPANS = 400
_MOST_TICKS_SUMMED = 20_000


def earliest_starts(problem: Problem, words: Words) -> list[list[int]]:
    """Earliest start of each ring with every stack alone. `words` says a length of time.

    Raises `FieldError` that names the step that fits nowhere and what would help.
    """
    heads: list[list[int]] = [[] for _ in problem.chains]
    ready = [0] * len(problem.chains)
    for i in problem.order:
        chain = problem.chains[i]
        time = max(earliest_start(problem, i, ready), problem.free[0])
        ready[i] = earliest_start(problem, i, ready)
        for j, length in enumerate(chain.press):
            begin = problem.hours.fit(time, length)
            if begin >= FAR:
                raise _no_room(problem, i, j, words)
            heads[i].append(begin)
            time = begin + length + chain.rest[j]
            ready[i] = begin + length + chain.cure
    return heads


def _no_room(problem: Problem, i: int, j: int, words: Words) -> FieldError:
    chain = problem.chains[i]
    step = f"Ring {chain.rings[j]} of stack {chain.id}"
    longest = problem.hours.longest
    if chain.press[j] > longest:
        there = f"longer than {words(longest)}" if longest > 0 else "at all"
        return FieldError(
            "/hours",
            f"{step} needs {words(chain.press[j])} in the press in one go, and from the start on "
            f"you are never in the shop {there}. Give one stay that is long enough, "
            "or a glue that presses for less time.",
        )
    return FieldError(
        "/hours",
        f"Your shop hours end before {step[0].lower()}{step[1:]} can be pressed for "
        f"{words(chain.press[j])}. Add later hours.",
    )


def latest_ends(problem: Problem, heads: list[list[int]], finish: int) -> list[list[int]] | None:
    """Latest ends that still allow `finish`, every stack alone; None when that is impossible."""
    late: list[list[int]] = [[] for _ in problem.chains]
    for i in reversed(problem.order):
        chain = problem.chains[i]
        due = min([finish, *(_needed_by(problem, late, x) for x in problem.followers[i])])
        due -= chain.cure if chain.press else 0
        row = [due] * len(chain.press)
        for j in range(len(chain.press) - 1, -1, -1):
            row[j] = problem.hours.fit_back(due, chain.press[j])
            if row[j] < heads[i][j] + chain.press[j]:
                return None
            due = row[j] - chain.press[j] - (chain.rest[j - 1] if j else 0)
        late[i] = row or [due]
    return late


def _needed_by(problem: Problem, late: list[list[int]], follower: int) -> int:
    chain = problem.chains[follower]
    return late[follower][0] - (chain.press[0] if chain.press else 0) - chain.turn


class Capacity:
    """Presses against the room for them, for the spans that matter."""

    def __init__(self, problem: Problem, heads: list[list[int]]) -> None:
        self.problem, self.heads = problem, heads
        hours = problem.hours
        lengths = [b - a for a, b in zip(hours.opens, hours.shuts, strict=True)]
        self._usable = usable_lengths(problem, lengths)
        self._upto = np.concatenate([[0], np.cumsum(self._usable)]).astype(np.int64)
        self._head = np.array([h for row in heads for h in row], dtype=np.int64)
        self._press = np.array([p for c in problem.chains for p in c.press], dtype=np.int64)
        spans = np.unique(self._head)
        step = -(-len(spans) // _MOST_SPANS) if len(spans) else 1
        self._since = spans[::step]
        free, self._alike = np.unique(np.array(problem.free), return_counts=True)
        self._begin = np.maximum(self._since[:, None], free[None, :])

    def overfull(self, finish: int) -> bool:
        """True when no plan can end by `finish`: some span is too short for what is due in it."""
        late = latest_ends(self.problem, self.heads, finish)
        if late is None:
            return True
        ends = np.array(
            [e for c, row in zip(self.problem.chains, late, strict=True) if c.press for e in row],
            dtype=np.int64,
        )
        order = np.argsort(ends, kind="stable")
        due = np.where(
            self._head[order][None, :] >= self._since[:, None], self._press[order][None, :], 0
        )
        work = np.cumsum(due, axis=1)
        return bool((work > self._room(ends[order])).any())

    def _room(self, ends: Ints) -> Ints:
        """Press time from each span's begin to each end, over all presses."""
        opens = np.array(self.problem.hours.opens, dtype=np.int64)
        shuts = np.array(self.problem.hours.shuts, dtype=np.int64)
        usable = self._usable
        at = np.maximum(np.searchsorted(opens, ends, side="left") - 1, 0)
        part = np.minimum(usable[at], np.maximum(ends - opens[at], 0))
        first = np.searchsorted(shuts, self._since, side="right")
        first = np.minimum(first, len(opens) - 1)
        total = np.zeros((len(self._since), len(ends)), dtype=np.int64)
        for press, alike in enumerate(self._alike):
            begin = np.maximum(self._begin[:, press], opens[first])
            head = np.clip(np.minimum(usable[first], shuts[first] - begin), 0, None)
            same = np.minimum(ends[None, :] - begin[:, None], head[:, None])
            across = head[:, None] + self._upto[at][None, :] - self._upto[first + 1][:, None]
            room = np.where(at[None, :] <= first[:, None], same, across + part[None, :])
            total += alike * np.clip(room, 0, None)
        return total


def usable_lengths(problem: Problem, lengths: list[int]) -> Ints:
    """How much of each window can be pressed: it holds only what press lengths add up to."""
    top = max(lengths, default=0)
    if problem.hours.always or top > _MOST_TICKS_SUMMED:
        return np.array(lengths, dtype=np.int64)
    sums, mask = 1, (2 << top) - 1
    for chain in problem.chains:
        for length in chain.press:
            sums |= (sums << length) & mask
    return np.array([(sums & ((2 << n) - 1)).bit_length() - 1 for n in lengths], dtype=np.int64)


def lowest_finish(capacity: Capacity, chain_bound: int, reachable: int) -> int:
    """No plan ends before this; `reachable` is a finish that a plan has."""
    low, high = chain_bound, reachable
    while low < high:
        middle = (low + high) // 2
        if capacity.overfull(middle):
            low = middle + 1
        else:
            high = middle
    return low


def chain_bound(problem: Problem, heads: list[list[int]]) -> int:
    """The latest ready time with every stack alone."""
    ready = [0] * len(problem.chains)
    for i in problem.order:
        chain = problem.chains[i]
        begin = earliest_start(problem, i, ready)
        ready[i] = heads[i][-1] + chain.press[-1] + chain.cure if chain.press else begin
    return max(ready, default=problem.start)
