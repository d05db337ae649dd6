"""Checks of gluing order: is there always something left to press against."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from server.craft.checks.words import sentence, the_ring
from server.craft.document.assembly import Stack
from server.craft.findings import Check, Severity
from server.craft.mends import change, mend
from server.craft.planned import Planned
from server.craft.worked.rings import WorkedRing


def checks(planned: Planned) -> Iterator[Check]:
    """Rings out of order on their stack, and rings on none."""
    for index, stack in enumerate(planned.piece.stacks):
        yield from _order(planned, index, stack)
    stacked = {ring for stack in planned.piece.stacks for ring in stack.rings}
    for part in planned.work.parts:
        for ring in part.rings:
            if ring.id not in stacked:
                yield _unstacked(planned, ring)


def _misplaced(places: Sequence[int], step: int) -> set[int]:
    """Which rings of a stack, by their places in the part, do not follow the one before."""
    return {ring for before, ring in pairwise(places) if ring != before + step}


def _order(planned: Planned, index: int, stack: Stack) -> Iterator[Check]:
    rings = [planned.work.by_ring[ring] for ring in stack.rings]
    step = 1 if stack.mounted == "bottom" else -1
    wrong = _misplaced([ring.index for ring in rings], step)
    for before, ring in pairwise(rings):
        if ring.index not in wrong:
            continue
        yield Check(
            code="stack-order",
            severity=Severity.STOP,
            part=ring.part,
            ring=ring.id,
            message=f"{sentence(the_ring(planned, ring))} cannot be glued after ring "
            f"{before.index + 1} on “{stack.title}”, which sits on its block by its "
            f"{stack.mounted}: there is nothing left to press it against.",
            value=float(ring.index + 1),
            limit=float(before.index + step + 1),
            unit="ring",
            mend=_sorted(index, stack, rings),
        )


def _sorted(index: int, stack: Stack, rings: list[WorkedRing]) -> dict[str, object] | None:
    """The same rings from the mounted end on, where they are neighbours at all."""
    order = sorted(rings, key=lambda ring: ring.index, reverse=stack.mounted == "top")
    if any(abs(one.index - other.index) != 1 for one, other in pairwise(order)):
        return None
    return mend(
        f"Glue from the {stack.mounted} on",
        change(f"/stacks/{index}/rings", [ring.id for ring in order], "replace"),
    )


def _unstacked(planned: Planned, ring: WorkedRing) -> Check:
    return Check(
        code="ring-unstacked",
        severity=Severity.WARN,
        part=ring.part,
        ring=ring.id,
        message=f"{sentence(the_ring(planned, ring))} is on no stack yet: it would never be glued.",
        mend=_onto_neighbour(planned, ring),
    )


def _onto_neighbour(planned: Planned, ring: WorkedRing) -> dict[str, object] | None:
    """Onto a stack that ends or begins with this ring's neighbour, or between two of its rings."""
    for index, stack in enumerate(planned.piece.stacks):
        if not stack.rings or stack.part != ring.part:
            continue
        places = [planned.work.by_ring[name].index for name in stack.rings]
        step = 1 if stack.mounted == "bottom" else -1
        if ring.index - step in places:
            at = places.index(ring.index - step) + 1
        elif ring.index + step in places:
            at = places.index(ring.index + step)
        else:
            continue
        put = [*places[:at], ring.index, *places[at:]]
        if not _misplaced(put, step) <= _misplaced(places, step):
            continue
        where = "-" if at == len(places) else at
        return mend(f"Put it on “{stack.title}”", change(f"/stacks/{index}/rings/{where}", ring.id))
    return None
