"""Checks between neighbouring rings: joints in line, open gaps, the face that holds."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from server.craft.checks.words import length, the_ring
from server.craft.findings import Check, Severity, reaches
from server.craft.mends import change, mend, ring_path
from server.craft.planned import Planned
from server.craft.rings.joints import gap_overlap_deg, joint_angles_deg, least_joint_angle_deg
from server.craft.worked.rings import WorkedRing
from server.craft.worked.stacks import joints_of

_HARDLY_DEG = 1e-9
_STEPS = 16
"""Phases that are tried when a ring is turned: sixteenths of its pitch."""


def checks(planned: Planned) -> Iterator[Check]:
    """What is wrong between each ring and the one above it."""
    for part in planned.work.parts:
        for lower, upper in pairwise(part.rings):
            yield from _aligned(planned, lower, upper)
            yield from _bridged(planned, lower, upper)
            yield from _bridged(planned, upper, lower)
        if len(part.rings) == 1:
            yield from _unbridged(planned, part.rings[0])
    yield from _faces(planned)


def joint_angle_deg(lower: WorkedRing, upper: WorkedRing, upper_phase: float) -> float | None:
    """Least angle between joints of two rings; None where one has no joints."""
    below, above = joints_of(lower), joints_of(upper)
    if below is None or above is None:
        return None
    return least_joint_angle_deg(
        joint_angles_deg(below, lower.ring.phase), joint_angles_deg(above, upper_phase)
    )


def _least_angle_deg(planned: Planned, lower: WorkedRing, upper: WorkedRing) -> float:
    pitch = 2 * min(lower.half_angle_deg, upper.half_angle_deg)
    return planned.work.limit("joints-aligned") * pitch


def _apart(planned: Planned, lower: WorkedRing, upper: WorkedRing, phase: float) -> bool:
    """Whether the joints of two rings lie far enough apart, or are meant not to."""
    if lower.ring.aligned_on_purpose or upper.ring.aligned_on_purpose:
        return True
    angle = joint_angle_deg(lower, upper, phase)
    return angle is None or angle >= _least_angle_deg(planned, lower, upper) - _HARDLY_DEG


def _aligned(planned: Planned, lower: WorkedRing, upper: WorkedRing) -> Iterator[Check]:
    if _apart(planned, lower, upper, upper.ring.phase):
        return
    angle = joint_angle_deg(lower, upper, upper.ring.phase)
    assert angle is not None
    offered = _turn(planned, upper) or mend(
        "It is on purpose",
        change(f"{ring_path(planned.piece, upper.id)}/aligned_on_purpose", True),
    )
    yield Check(
        code="joints-aligned",
        severity=Severity.WARN,
        part=upper.part,
        ring=upper.id,
        message=f"Joints of {the_ring(planned, upper)} stand over joints of the ring below: "
        f"{angle:.2f}° between them. Turn it, like bricks, or say that it is on purpose.",
        value=angle,
        limit=_least_angle_deg(planned, lower, upper),
        unit="deg",
        mend=offered,
    )


def _turn(planned: Planned, ring: WorkedRing) -> dict[str, object] | None:
    """The phase at which the ring's joints lie farthest off those of both its neighbours.

    None where no phase is right for both, open joints bridged on either side.
    """
    rings = planned.work.by_part[ring.part].rings
    under = rings[ring.index - 1] if ring.index else None
    over = rings[ring.index + 1] if ring.index + 1 < len(rings) else None

    def fits(phase: float) -> bool:
        turned = replace(ring, ring=ring.ring.model_copy(update={"phase": phase}))
        pairs = [(low, high) for low, high in ((under, turned), (turned, over)) if low and high]
        return all(
            _apart(planned, low, high, high.ring.phase)
            and _holds(planned, low, high)
            and _holds(planned, high, low)
            for low, high in pairs
        )

    def clear(phase: float) -> float:
        angles = [joint_angle_deg(near, ring, phase) for near in (under, over) if near]
        return min((angle for angle in angles if angle is not None), default=0.0)

    phases = [(ring.ring.phase + step / _STEPS) % 1.0 for step in range(_STEPS)]
    best = max(filter(fits, phases), key=clear, default=None)
    if best is None or best == ring.ring.phase:
        return None
    path = f"{ring_path(planned.piece, ring.id)}/phase"
    return mend(f"Turn it to {best:g} of a segment", change(path, best))


def _overlap_deg(ring: WorkedRing, neighbour: WorkedRing) -> float | None:
    """How far a neighbour reaches over the ring's open gaps; None where it has none to bridge."""
    own = joints_of(ring)
    if own is None or not own.is_open:
        return None
    return gap_overlap_deg(own, ring.ring.phase, joints_of(neighbour), neighbour.ring.phase)


def _holds(planned: Planned, ring: WorkedRing, neighbour: WorkedRing) -> bool:
    overlap = _overlap_deg(ring, neighbour)
    limit = planned.work.limit("gap-not-bridged")
    return overlap is None or (overlap > _HARDLY_DEG and reaches(overlap, limit))


def _bridged(planned: Planned, ring: WorkedRing, neighbour: WorkedRing) -> Iterator[Check]:
    overlap = _overlap_deg(ring, neighbour)
    if overlap is None or _holds(planned, ring, neighbour):
        return
    yield _loose(
        planned,
        ring,
        overlap,
        f"are not bridged by {the_ring(planned, neighbour)}: nothing would hold the segments.",
        _turn(planned, ring),
    )


def _unbridged(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    """A ring that is a part alone has nobody to bridge its gaps."""
    own = joints_of(ring)
    if own is not None and own.is_open:
        words = "have no ring above or below to bridge them: nothing would hold the segments."
        yield _loose(planned, ring, 0.0, words, None)


def _loose(
    planned: Planned, ring: WorkedRing, overlap: float, words: str, turn: dict[str, object] | None
) -> Check:
    closed = mend("Close the gaps", change(f"{ring_path(planned.piece, ring.id)}/gap", None))
    return Check(
        code="gap-not-bridged",
        severity=Severity.STOP,
        part=ring.part,
        ring=ring.id,
        message=f"The open gaps of {the_ring(planned, ring)} {words}",
        value=overlap,
        limit=planned.work.limit("gap-not-bridged"),
        unit="deg",
        mend=turn or closed,
    )


def _faces(planned: Planned) -> Iterator[Check]:
    limit = planned.work.limit("glue-face-small")
    for joint in (*planned.gluing.values(), *planned.joins):
        if reaches(joint.face_width_mm, limit):
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
