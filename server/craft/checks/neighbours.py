"""Checks between neighbouring rings: joints in line, open gaps, the face that holds."""

from collections.abc import Iterator
from itertools import pairwise

from server.craft.checks.words import length, the_ring
from server.craft.findings import Check, Severity
from server.craft.mends import change, mend, ring_path
from server.craft.planned import Planned
from server.craft.rings.joints import gap_overlap_deg, joint_angles_deg, least_joint_angle_deg
from server.craft.worked.rings import WorkedRing
from server.craft.worked.stacks import joints_of

_HARDLY_DEG = 1e-9


def checks(planned: Planned) -> Iterator[Check]:
    """What is wrong between each ring and the one above it."""
    for part in planned.work.parts:
        for lower, upper in pairwise(part.rings):
            yield from _aligned(planned, lower, upper)
            yield from _bridged(planned, lower, upper)
            yield from _bridged(planned, upper, lower)
    yield from _faces(planned)


def joint_angle_deg(lower: WorkedRing, upper: WorkedRing, upper_phase: float) -> float | None:
    """Least angle between joints of two rings; None where one has no joints."""
    below, above = joints_of(lower), joints_of(upper)
    if below is None or above is None:
        return None
    return least_joint_angle_deg(
        joint_angles_deg(below, lower.ring.phase), joint_angles_deg(above, upper_phase)
    )


def _aligned(planned: Planned, lower: WorkedRing, upper: WorkedRing) -> Iterator[Check]:
    if lower.ring.aligned_on_purpose or upper.ring.aligned_on_purpose:
        return
    angle = joint_angle_deg(lower, upper, upper.ring.phase)
    pitch = 2 * min(lower.half_angle_deg, upper.half_angle_deg)
    limit = planned.work.limit("joints-aligned") * pitch
    if angle is None or angle >= limit - _HARDLY_DEG:
        return
    yield Check(
        code="joints-aligned",
        severity=Severity.WARN,
        part=upper.part,
        ring=upper.id,
        message=f"Joints of {the_ring(planned, upper)} stand over joints of the ring below: "
        f"{angle:.2f}° between them. Turn it, like bricks, or say that it is on purpose.",
        value=angle,
        limit=limit,
        unit="deg",
        mend=_turn(planned, lower, upper, limit),
    )


def _turn(
    planned: Planned, lower: WorkedRing, upper: WorkedRing, limit: float
) -> dict[str, object] | None:
    """The phase that keeps the upper ring farthest off both neighbours, where there is one."""
    part = planned.work.by_part[upper.part]
    over = part.rings[upper.index + 1] if upper.index + 1 < len(part.rings) else None

    def room(phase: float) -> tuple[float, float]:
        below = joint_angle_deg(lower, upper, phase) or 0.0
        above = joint_angle_deg(over, upper, phase) if over else None
        return (min(below, limit) + min(above if above is not None else limit, limit), below)

    phases = [((upper.ring.phase + step / 16) % 1.0) for step in range(16)]
    best = max(phases, key=room)
    if (joint_angle_deg(lower, upper, best) or 0.0) < limit:
        return None
    path = f"{ring_path(planned.piece, upper.id)}/phase"
    return mend(f"Turn it to {best:g} of a segment", change(path, best))


def _bridged(planned: Planned, ring: WorkedRing, neighbour: WorkedRing) -> Iterator[Check]:
    own = joints_of(ring)
    if own is None or not own.is_open:
        return
    overlap = gap_overlap_deg(own, ring.ring.phase, joints_of(neighbour), neighbour.ring.phase)
    if overlap is None or overlap > _HARDLY_DEG:
        return
    yield Check(
        code="gap-not-bridged",
        severity=Severity.STOP,
        part=ring.part,
        ring=ring.id,
        message=f"The open gaps of {the_ring(planned, ring)} are not bridged by "
        f"{the_ring(planned, neighbour)}: nothing would hold the segments.",
        value=overlap,
        limit=0.0,
        unit="deg",
    )


def _faces(planned: Planned) -> Iterator[Check]:
    limit = planned.work.limit("glue-face-small")
    for joint in planned.gluing.values():
        if joint.face_width_mm >= limit:
            continue
        yield Check(
            code="glue-face-small",
            severity=Severity.WARN,
            part=joint.ring.part,
            ring=joint.ring.id,
            message=f"Between {the_ring(planned, joint.ring)} and "
            f"{the_ring(planned, joint.under)} only {length(planned, joint.face_width_mm)} of "
            "glue face is left once it is turned.",
            value=joint.face_width_mm,
            limit=limit,
            unit="mm",
        )
