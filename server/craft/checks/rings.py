"""Checks of single rings: can it be made, does it fit its board, the saw and the lathe."""

from collections.abc import Iterator

from server.craft.checks.words import length, lengths, sentence, the_ring
from server.craft.document.base import LARGEST_MM
from server.craft.errors import GeometryError
from server.craft.findings import Check, Severity, reaches, within
from server.craft.mends import change, mend, ring_path
from server.craft.planned import Planned
from server.craft.rings.discs import least_plug_mm
from server.craft.worked.rings import WorkedRing


def checks(planned: Planned) -> Iterator[Check]:
    """What is wrong with each ring by itself."""
    for part in planned.work.parts:
        for ring in part.rings:
            yield from _fault(planned, ring)
            yield from _board(planned, ring)
            yield from _loose_plug(planned, ring)
            yield from _small_segments(planned, ring)
    yield from _short_strips(planned)


def _fault(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    if ring.fault is not None:
        yield Check(
            code=ring.fault.code,
            severity=Severity.STOP,
            part=ring.part,
            ring=ring.id,
            message=f"{sentence(the_ring(planned, ring))} cannot be made. "
            f"{_why(planned, ring, ring.fault)}",
            value=ring.fault.value,
            limit=ring.fault.limit,
            unit=ring.fault.unit,
            mend=_mend_fault(planned, ring, ring.fault.code),
        )


def _why(planned: Planned, ring: WorkedRing, fault: GeometryError) -> str:
    """The reason, its lengths in the user's units."""
    breach = planned.work.by_part[ring.part].breach
    if fault.code == "inside-outside" and breach is not None and breach.thickness_mm < 0:
        return (
            f"The inside breaks through the outside, by {length(planned, -breach.thickness_mm)} "
            f"where it is worst, at {length(planned, breach.z_mm)} of height."
        )
    if fault.unit == "mm" and fault.value is not None and fault.limit is not None:
        what = {"spacer-too-thick": "Spacers", "gap-too-wide": "Gaps"}.get(fault.code)
        own, most = lengths(planned, fault.value, fault.limit)
        if what:
            return f"{what} of {own} meet each other: they must be under {most}."
    return str(fault)


def _mend_fault(planned: Planned, ring: WorkedRing, code: str) -> dict[str, object] | None:
    path = ring_path(planned.piece, ring.id)
    if code == "spacer-too-thick":
        return mend("Leave the spacers out", change(f"{path}/spacer", None))
    if code == "gap-too-wide":
        return mend("Close the gaps", change(f"{path}/gap", None))
    if code == "plug-too-wide":
        return mend("Leave the plug out", change(f"{path}/plug", None))
    if code == "share-too-wide":
        return mend("Make all segments alike", change(f"{path}/shares", None))
    return None


def _board(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    has, needs = ring.ring.board_width_mm, ring.needed_width_mm
    if has is None or needs is None or within(needs, has):
        return
    needed, given = lengths(planned, needs, has)
    yield Check(
        code="board-narrow",
        severity=Severity.STOP,
        part=ring.part,
        ring=ring.id,
        message=f"{sentence(the_ring(planned, ring))} needs a board {needed} wide; {given} is "
        "given, so the wall would break out of the wood.",
        value=needs,
        limit=has,
        unit="mm",
        mend=mend(
            "Take a board as wide as it needs",
            change(f"{ring_path(planned.piece, ring.id)}/board_width_mm", None),
        ),
    )


def _loose_plug(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    plug = ring.ring.plug
    if plug is None or ring.flat is None:
        return
    hole = least_plug_mm(ring.flat)
    if reaches(plug.diameter_mm, hole):
        return
    has, needs = lengths(planned, plug.diameter_mm, hole)
    yield Check(
        code="plug-too-small",
        severity=Severity.WARN,
        part=ring.part,
        ring=ring.id,
        message=f"The plug of {the_ring(planned, ring)} is {has} across, but the ring is open over "
        f"{needs}: it would touch nothing.",
        value=plug.diameter_mm,
        limit=hole,
        unit="mm",
        mend=mend(
            f"Make the plug {needs}",
            change(f"{ring_path(planned.piece, ring.id)}/plug/diameter_mm", hole, "replace"),
        ),
    )


def _small_segments(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    limit = planned.work.limit("segment-small")
    edges = [row.outer_edge_mm for row in planned.segments[ring.id]]
    if not edges or reaches(min(edges), limit):
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
    saw, limit = planned.piece.saw, planned.work.limit("strip-short")
    short = [
        row
        for row in planned.strips
        if row.kind in ("segment", "stave") and not reaches(row.length_mm + saw.hold_tail_mm, limit)
    ]
    if not short:
        return
    tail = limit - min(row.length_mm for row in short)
    offered = None
    if tail <= LARGEST_MM:
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
            limit=limit,
            unit="mm",
            mend=offered,
        )
