"""Checks against the lathe and on the foot: swing, length, tipping."""

import math
from collections.abc import Iterator

from server.craft.checks.words import length, lengths, the_part, the_ring
from server.craft.document.base import LARGEST_MM
from server.craft.findings import Check, Severity, reaches, within
from server.craft.form.solids import foot_radius
from server.craft.mends import change, mend, part_path
from server.craft.planned import Planned
from server.craft.worked.piece import WorkedPart

_FINEST_MM = 0.1
_STEEPEST_DEG = 60.0
"""Nobody asks a piece to stand at more; its foot would grow without end."""


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
        if not within(across, swing):
            yield _too_wide(planned, part, across, ring.id, the_ring(planned, ring))
    if not part.rings:
        across = 2 * (part.outside.bounds[2] + planned.piece.allowance.outside_mm)
        if not within(across, swing):
            yield _too_wide(planned, part, across, None, the_part(part))


def _too_wide(
    planned: Planned, part: WorkedPart, across: float, ring: str | None, name: str
) -> Check:
    swing = planned.piece.lathe.swing_mm
    wide, most = lengths(planned, across, swing)
    where = " across its corners" if ring else " across"
    return Check(
        code="swing-exceeded",
        severity=Severity.STOP,
        part=part.id,
        ring=ring,
        message=f"Rough, {name} is {wide}{where}; the lathe swings {most}.",
        value=across,
        limit=swing,
        unit="mm",
    )


def _length(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    between = planned.piece.lathe.between_centres_mm
    long = part.height_mm + _tenons(planned, part) + _blocks(planned, part)
    if within(long, between):
        return
    block = _blocks(planned, part)
    begin = f"With its waste block {the_part(part)}" if block else the_part(part)
    reach, room = lengths(planned, long, between)
    yield Check(
        code="centres-exceeded",
        severity=Severity.STOP,
        part=part.id,
        message=f"{begin} is {reach} long; the lathe takes {room} between centres.",
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
    if angle is None or reaches(angle, limit):
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
        mend=_wider_foot(planned, lowest, limit),
    )


def _wider_foot(planned: Planned, part: WorkedPart, limit_deg: float) -> dict[str, object] | None:
    """The lowest part flared, its upper end as it is and its foot as wide as it must be.

    With the centre of gravity where it is, foot over height is the tangent of the angle; wood
    that is added at the foot lowers it further.
    """
    height = planned.balance.centre_of_gravity_mm
    if height is None or part.height_mm <= 0 or limit_deg >= _STEEPEST_DEG:
        return None
    foot = math.ceil(height * math.tan(math.radians(limit_deg)) / _FINEST_MM) * _FINEST_MM
    wider = foot - foot_radius(part.outside)

    def flared(point: dict[str, float]) -> dict[str, float]:
        share = (part.z1_mm - point["z_mm"]) / part.height_mm
        return {**point, "r_mm": point["r_mm"] + (wider * share if point["r_mm"] else 0.0)}

    points = [flared(point.model_dump(exclude_none=True)) for point in part.part.outside.points]
    if wider <= 0 or max(point["r_mm"] for point in points) > LARGEST_MM:
        return None
    return mend(
        f"Widen the foot to {length(planned, 2 * foot)}",
        change(f"{part_path(planned.piece, part.id)}/outside/points", points),
    )
