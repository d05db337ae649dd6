"""A gluing problem in whole ticks, and a plan for it. No dates here: `dates.py` translates."""

from dataclasses import dataclass

from server.craft.errors import FieldError
from server.craft.glue.schedule.hours import Hours


@dataclass(frozen=True, slots=True)
class Chain:
    """A stack as the schedule sees it: presses in order with rests between, then cure.

    It may start at `release`, and when it joins other stacks (`after`, by number) not before
    `turn` after the last of them is ready.
    """

    id: str
    rings: tuple[str, ...]
    press: tuple[int, ...]
    rest: tuple[int, ...]
    cure: int
    release: int = 0
    after: tuple[int, ...] = ()
    turn: int = 0


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """One ring in a press: ring number `ring` of chain number `chain`."""

    start: int
    end: int
    chain: int
    ring: int
    press: int


@dataclass(frozen=True, slots=True)
class Problem:
    """Chains to press, when each press is free first, and the shop hours."""

    chains: tuple[Chain, ...]
    free: tuple[int, ...]
    hours: Hours
    start: int
    order: tuple[int, ...]
    followers: tuple[tuple[int, ...], ...]

    @property
    def ring_count(self) -> int:
        """Presses to place."""
        return sum(len(chain.press) for chain in self.chains)


def pose(
    chains: tuple[Chain, ...],
    free: tuple[int, ...],
    windows: list[tuple[int, int]] | None,
    start: int,
) -> Problem:
    """The problem with its hours trimmed to what can matter. Raises `FieldError` on a circle."""
    shortest = min((p for chain in chains for p in chain.press), default=0)
    useful = sorted(max(f, start) for f in free)[: max(1, len(chains))]
    return Problem(
        chains, tuple(useful), Hours(windows, start, shortest), start, _order(chains), _next(chains)
    )


def _order(chains: tuple[Chain, ...]) -> tuple[int, ...]:
    done: list[int] = []
    while len(done) < len(chains):
        placed = set(done)
        more = [
            i
            for i, chain in enumerate(chains)
            if i not in placed and all(a in placed for a in chain.after)
        ]
        if not more:
            stuck = next(i for i in range(len(chains)) if i not in placed)
            raise FieldError(
                f"/stacks/{stuck}/after", "These stacks wait for each other in a circle."
            )
        done += more
    return tuple(done)


def _next(chains: tuple[Chain, ...]) -> tuple[tuple[int, ...], ...]:
    return tuple(
        tuple(x for x, chain in enumerate(chains) if i in chain.after) for i in range(len(chains))
    )


def ready_times(problem: Problem, spans: list[Span]) -> list[int]:
    """When each chain is cured; a chain without rings is ready when it may start."""
    ready = [0] * len(problem.chains)
    last = {span.chain: span.end for span in sorted(spans)}
    for i in problem.order:
        chain = problem.chains[i]
        begin = earliest_start(problem, i, ready)
        ready[i] = last[i] + chain.cure if chain.press else begin
    return ready


def earliest_start(problem: Problem, i: int, ready: list[int]) -> int:
    """First moment that the stacks before chain `i` and its own release allow."""
    chain = problem.chains[i]
    return max([problem.start, chain.release, *(ready[a] + chain.turn for a in chain.after)])
