"""Checks of mortise and tenon: depth, solid wood, and whether more can still be glued on."""

from collections.abc import Iterator
from typing import Any

from server.craft.checks.more_rings import add_rings
from server.craft.checks.words import length, lengths, sentence, the_ring
from server.craft.findings import Check, Severity
from server.craft.mends import change, mend, part_path
from server.craft.planned import Planned
from server.craft.worked.joints import WorkedJoint

_HARDLY_MM = 1e-6


def checks(planned: Planned) -> Iterator[Check]:
    """What is wrong with each joint."""
    for joint in planned.joints:
        yield from _shallow(planned, joint)
        yield from _thin_around(planned, joint)
        yield from _not_solid(planned, joint)
        yield from _unreachable(planned, joint)


def _shallow(planned: Planned, joint: WorkedJoint) -> Iterator[Check]:
    needed, solid = joint.needed_depth_mm, joint.solid_depth_mm
    if needed <= solid + _HARDLY_MM:
        return
    part, end = joint.part.part.title, joint.joint.mortise.end
    takes, there = lengths(planned, needed, solid)
    words = (
        f"The mortise in the {end} of {part} needs {takes} of solid wood with what must be left "
        f"beyond it; there is {there if solid > 0 else 'none'}."
    )
    if joint.rings_to_add:
        count = "One more ring" if joint.rings_to_add == 1 else f"{joint.rings_to_add} more rings"
        words += f" {count} at the {end} would do."
    yield Check(
        code="joint-shallow",
        severity=Severity.STOP,
        part=joint.part.id,
        ring=joint.end_ring.id if joint.end_ring else None,
        message=words,
        value=solid,
        limit=needed,
        unit="mm",
        mend=add_rings(planned, joint),
    )


def _thin_around(planned: Planned, joint: WorkedJoint) -> Iterator[Check]:
    """The web is the least wood beyond the mortise and around it."""
    limit = joint.joint.web_mm
    if not joint.solid_depth_mm or joint.around_mm >= limit - _HARDLY_MM:
        return
    part, end = joint.part.part.title, joint.joint.mortise.end
    left, least = lengths(planned, joint.around_mm, limit)
    yield Check(
        code="joint-wall-thin",
        severity=Severity.WARN,
        part=joint.part.id,
        ring=joint.end_ring.id if joint.end_ring else None,
        message=f"Only {left} of wood is left around the mortise in the {end} of {part}; "
        f"{least} is asked for. A thinner tenon or a thicker end would do.",
        value=joint.around_mm,
        limit=limit,
        unit="mm",
    )


def _not_solid(planned: Planned, joint: WorkedJoint) -> Iterator[Check]:
    limit = joint.joint.mortise_diameter_mm
    for ring in joint.bored:
        hole = 2 * ring.hole_radius_mm
        if hole <= limit + _HARDLY_MM:
            continue
        wide, bore = lengths(planned, hole, limit)
        yield Check(
            code="joint-not-solid",
            severity=Severity.STOP,
            part=ring.part,
            ring=ring.id,
            message=f"{sentence(the_ring(planned, ring))} is bored for a tenon, but its own "
            f"hole is {wide} wide and the mortise {bore}. "
            "Make it solid or plug it.",
            value=hole,
            limit=limit,
            unit="mm",
            mend=_plug(planned, ring.part, ring.index, hole),
        )


def _plug(planned: Planned, part_id: str, index: int, hole_mm: float) -> dict[str, Any]:
    path = f"{part_path(planned.piece, part_id)}/rings/{index}/plug"
    return mend(
        f"Plug it with a {length(planned, hole_mm)} plug", change(path, {"diameter_mm": hole_mm})
    )


def _unreachable(planned: Planned, joint: WorkedJoint) -> Iterator[Check]:
    end_ring = joint.end_ring
    if not joint.rings_to_add or end_ring is None:
        return
    end = joint.joint.mortise.end
    for stack in planned.piece.stacks:
        if end_ring.id in stack.rings and stack.mounted == end:
            yield Check(
                code="joint-unreachable",
                severity=Severity.WARN,
                part=joint.part.id,
                ring=end_ring.id,
                message=f"A ring would have to be added at the {end} of {joint.part.part.title}, "
                f"and that end sits on the waste block of {stack.title}: add it before gluing, or "
                "mount the other end.",
                value=float(joint.rings_to_add),
                limit=0.0,
                unit="rings",
            )
