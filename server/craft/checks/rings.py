"""Checks of single rings: can it be made, does it fit its board, the saw and the lathe."""

from collections.abc import Iterator

from server.craft.checks.words import length, sentence, the_ring
from server.craft.findings import Check, Severity
from server.craft.mends import change, mend, ring_path
from server.craft.planned import Planned
from server.craft.worked.rings import WorkedRing

_HARDLY = 1e-9


def checks(planned: Planned) -> Iterator[Check]:
    """What is wrong with each ring by itself."""
    for part in planned.work.parts:
        for ring in part.rings:
            yield from _fault(planned, ring)
            yield from _board(planned, ring)
            yield from _small_segments(planned, ring)
    yield from _short_strips(planned)


def _fault(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    if ring.fault is not None:
        yield Check(
            code=ring.fault.code,
            severity=Severity.STOP,
            part=ring.part,
            ring=ring.id,
            message=f"{sentence(the_ring(planned, ring))} cannot be made. {ring.fault}",
            mend=_mend_fault(planned, ring),
        )


def _mend_fault(planned: Planned, ring: WorkedRing) -> dict[str, object] | None:
    path = ring_path(planned.piece, ring.id)
    if ring.ring.spacer is not None:
        return mend("Leave the spacers out", change(f"{path}/spacer", None))
    if ring.ring.gap is not None:
        return mend("Close the gaps", change(f"{path}/gap", None))
    return None


def _board(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    has, needs = ring.ring.board_width_mm, ring.needed_width_mm
    if has is None or needs is None or needs <= has + _HARDLY:
        return
    yield Check(
        code="board-narrow",
        severity=Severity.STOP,
        part=ring.part,
        ring=ring.id,
        message=f"{sentence(the_ring(planned, ring))} needs a board {length(planned, needs)} "
        f"wide; {length(planned, has)} is given, so the wall would break out of the wood.",
        value=needs,
        limit=has,
        unit="mm",
        mend=mend(
            "Take a board as wide as it needs",
            change(f"{ring_path(planned.piece, ring.id)}/board_width_mm", None),
        ),
    )


def _small_segments(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    limit = planned.work.limit("segment-small")
    edges = [row.outer_edge_mm for row in planned.segments[ring.id]]
    if not edges or min(edges) >= limit:
        return
    yield Check(
        code="segment-small",
        severity=Severity.WARN,
        part=ring.part,
        ring=ring.id,
        message=f"The segments of {the_ring(planned, ring)} are only "
        f"{length(planned, min(edges))} long: hard to hold, hard to glue.",
        value=min(edges),
        limit=limit,
        unit="mm",
    )


def _short_strips(planned: Planned) -> Iterator[Check]:
    saw = planned.piece.saw
    short = [
        row
        for row in planned.strips
        if row.kind in ("segment", "stave")
        and row.length_mm + saw.hold_tail_mm < saw.shortest_strip_mm
    ]
    if not short:
        return
    tail = saw.shortest_strip_mm - min(row.length_mm for row in short)
    offered = mend(
        f"Leave a tail of {length(planned, tail)} on every strip",
        change("/saw", {**saw.model_dump(exclude_none=True), "hold_tail_mm": tail}),
    )
    for row in short:
        long = row.length_mm + saw.hold_tail_mm
        ring = planned.work.by_ring[row.ring or ""]
        yield Check(
            code="strip-short",
            severity=Severity.WARN,
            part=row.part,
            ring=row.ring,
            message=f"The {planned.woods[row.wood].name} strip for {the_ring(planned, ring)} is "
            f"only {length(planned, long)} long; leave a tail to hold on to at the saw.",
            value=long,
            limit=saw.shortest_strip_mm,
            unit="mm",
            mend=offered,
        )
