"""Checks against the lathe and on the foot: swing, length, tipping."""

from collections.abc import Iterator

from server.craft.checks.words import length, the_part, the_ring
from server.craft.findings import Check, Severity
from server.craft.planned import Planned
from server.craft.worked.piece import WorkedPart


def checks(planned: Planned) -> Iterator[Check]:
    """What does not fit the lathe, and what falls over."""
    for part in planned.work.parts:
        yield from _swing(planned, part)
        yield from _length(planned, part)
    yield from _tipping(planned)


def _swing(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    swing = planned.piece.lathe.swing_mm
    for ring in part.rings:
        across = 2 * (ring.corner_radius_mm or 0.0)
        if across > swing:
            yield _too_wide(planned, part, across, ring.id, the_ring(planned, ring))
    if not part.rings:
        across = 2 * (part.outside.bounds[2] + planned.piece.allowance.outside_mm)
        if across > swing:
            yield _too_wide(planned, part, across, None, the_part(part))


def _too_wide(
    planned: Planned, part: WorkedPart, across: float, ring: str | None, name: str
) -> Check:
    swing = planned.piece.lathe.swing_mm
    return Check(
        code="swing-exceeded",
        severity=Severity.STOP,
        part=part.id,
        ring=ring,
        message=f"Rough, {name} is {length(planned, across)} across its corners; the lathe swings "
        f"{length(planned, swing)}.",
        value=across,
        limit=swing,
        unit="mm",
    )


def _length(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    between = planned.piece.lathe.between_centres_mm
    long = part.height_mm + _tenons(planned, part) + _blocks(planned, part)
    if long <= between:
        return
    yield Check(
        code="centres-exceeded",
        severity=Severity.STOP,
        part=part.id,
        message=f"With its waste block {the_part(part)} is {length(planned, long)} long; the lathe "
        f"takes {length(planned, between)} between centres.",
        value=long,
        limit=between,
        unit="mm",
    )


def _tenons(planned: Planned, part: WorkedPart) -> float:
    return sum(j.depth_mm for j in planned.piece.joints if j.tenon.part == part.id)


def _blocks(planned: Planned, part: WorkedPart) -> float:
    """The thickest block at each end that a stack is mounted at: joined, both are on the lathe."""
    thickest: dict[str, float] = {}
    for stack in planned.piece.stacks:
        if stack.part == part.id and stack.waste_block is not None:
            block = stack.waste_block.thickness_mm
            thickest[stack.mounted] = max(thickest.get(stack.mounted, 0.0), block)
    return sum(thickest.values())


def _tipping(planned: Planned) -> Iterator[Check]:
    angle, limit = planned.balance.tip_angle_deg, planned.work.limit("tips-easily")
    if angle is None or angle >= limit:
        return
    lowest = min(planned.work.parts, key=lambda p: planned.work.offsets_mm[p.id] + p.z0_mm)
    yield Check(
        code="tips-easily",
        severity=Severity.WARN,
        part=lowest.id,
        message=f"The piece falls over when it is leant {angle:.1f}°. A wider or heavier foot "
        "makes it stand.",
        value=angle,
        limit=limit,
        unit="deg",
    )
