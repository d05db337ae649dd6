"""Checks of the wood itself: moisture and seasons."""

from collections.abc import Iterator

from server.craft.checks.words import sentence, the_ring
from server.craft.findings import Check, Severity, within
from server.craft.mends import change, mend, ring_path
from server.craft.planned import Planned, WoodGap
from server.craft.wood.movement import Grain
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing


def checks(planned: Planned) -> Iterator[Check]:
    """What the wood will not take."""
    for part in planned.work.parts:
        yield from _moisture(planned, part)
        for ring in part.rings:
            yield from _season(planned, ring)


def _moisture(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    read = [
        (ring.ring.moisture_percent, ring)
        for ring in part.rings
        if ring.ring.moisture_percent is not None
    ]
    if not read:
        return
    dry, wet = min(read, key=lambda r: r[0]), max(read, key=lambda r: r[0])
    limit = planned.work.limit("moisture-mismatch")
    if within(wet[0] - dry[0], limit):
        return
    yield Check(
        code="moisture-mismatch",
        severity=Severity.WARN,
        part=part.id,
        ring=wet[1].id,
        message=f"{sentence(the_ring(planned, wet[1]))} has {wet[0]:g} % moisture and "
        f"{the_ring(planned, dry[1])} {dry[0]:g} %: let them come together before gluing.",
        value=wet[0] - dry[0],
        limit=limit,
        unit="%",
    )


def season_gap(planned: Planned, ring: WorkedRing, grain: Grain | None = None) -> WoodGap | None:
    """The widest gap over the year at a joint of the finished wall, and in which wood.

    From the moisture at gluing: as measured, or what the shop's air gives the wood. With the
    ring's own grain where none is given.
    """
    if ring.flat is None or ring.finished_outside_mm is None or ring.flat.is_open:
        return None
    drawn, built = ring.ring, planned.built_percent(ring)
    found = planned.season_gap_of_one_mm(ring.woods, drawn.segments, built, grain or drawn.grain)
    if found is None:
        return None
    gap, wood = found
    return gap.over(ring.finished_outside_mm - (ring.finished_inside_mm or 0.0)), wood


def _season(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    limit = planned.work.limit("season-gap")
    found = season_gap(planned, ring)
    if found is None or within(found[0].gap_mm, limit):
        return
    gap, wood = found
    yield Check(
        code="season-gap",
        severity=Severity.WARN,
        part=ring.part,
        ring=ring.id,
        message=f"Over the year the {planned.woods[wood].name} of {the_ring(planned, ring)} works "
        f"by {gap.gap_mm:.2f} mm at each joint, opening {gap.opens}. Quarter-sawn or narrower "
        "wood moves less.",
        value=gap.gap_mm,
        limit=limit,
        unit="mm",
        mend=_quarter(planned, ring, limit),
    )


def _quarter(planned: Planned, ring: WorkedRing, limit: float) -> dict[str, object] | None:
    """Quarter-sawn wood, where it moves little enough."""
    found = season_gap(planned, ring, "quarter")
    if found is None or not within(found[0].gap_mm, limit):
        return None
    path = f"{ring_path(planned.piece, ring.id)}/grain"
    return mend("Take quarter-sawn wood", change(path, "quarter"))
