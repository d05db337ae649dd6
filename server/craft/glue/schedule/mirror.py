"""A problem told backwards from a finish: the last rings come first, and time runs back from it.

A plan for the mirrored problem is a plan for the true one, read backwards; and where there is none,
no plan ends by that finish. What makes a finish impossible often lies in its last evenings: a
search that begins there sees it in a few rings, where one from the start would never get so far.
"""

from server.craft.errors import FieldError
from server.craft.glue.schedule.bounds import earliest_starts, latest_ends
from server.craft.glue.schedule.evolve import Goal, goal_for
from server.craft.glue.schedule.hours import FAR
from server.craft.glue.schedule.problem import Chain, Problem, pose
from server.craft.glue.schedule.serve import Ints, Table


def mirrored(problem: Problem, finish: int) -> tuple[Table, Goal] | None:
    """The mirrored problem and its goal; None when not even its stacks alone reach it.

    For stacks that wait for no other. That a press is busy at the start is not told: then there
    may be a plan for the mirrored problem and none for the true one.
    """
    chains = tuple(_turned(chain, problem.start) for chain in problem.chains)
    hours = zip(problem.hours.opens, problem.hours.shuts, strict=True)
    span = finish - problem.start
    windows = [
        (finish - min(shuts, finish), finish - opens) for opens, shuts in hours if opens < finish
    ]
    back = pose(chains, (0,) * len(problem.free), windows, 0)
    try:
        heads = earliest_starts(back, str)
    except FieldError:
        return None
    late = latest_ends(back, heads, span)
    if late is None:
        return None
    table = Table(back)
    return table, goal_for(table, span, late)


def _turned(chain: Chain, start: int) -> Chain:
    """The chain from its last ring to its first; its release is what it cures for."""
    return Chain(
        id=chain.id,
        rings=chain.rings[::-1],
        press=chain.press[::-1],
        rest=(*chain.rest[-2::-1], 0) if chain.rest else (),
        cure=max(0, chain.release - start),
        release=chain.cure,
    )


def read_backwards(table: Table, starts: Ints, finish: int) -> Ints:
    """The true starts of a plan for the mirrored problem, as padded as those are."""
    true = starts.copy()
    for i, count in enumerate(table.count):
        n = int(count)
        ends = starts[i, :n] + table.press[i, :n]
        true[i, :n] = finish - ends[::-1]
        true[i, n:] = FAR
    return true
