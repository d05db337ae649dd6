"""Checks of mortise and tenon: depth, solid wood, and whether more can still be glued on."""

from collections.abc import Iterator
from typing import Any

from server.craft.checks.words import length, sentence, the_ring
from server.craft.findings import Check, Severity
from server.craft.mends import change, mend, part_path
from server.craft.planned import Planned
from server.craft.worked.joints import WorkedJoint

_HARDLY_MM = 1e-6


def checks(planned: Planned) -> Iterator[Check]:
    """What is wrong with each joint."""
    for joint in planned.joints:
        yield from _shallow(planned, joint)
        yield from _not_solid(planned, joint)
        yield from _unreachable(planned, joint)


def _shallow(planned: Planned, joint: WorkedJoint) -> Iterator[Check]:
    needed, solid = joint.needed_depth_mm, joint.solid_depth_mm
    if needed <= solid + _HARDLY_MM:
        return
    part, end = joint.part.part.title, joint.joint.mortise.end
    words = (
        f"The mortise in the {end} of {part} needs {length(planned, needed)} of solid wood with "
        f"what must be left beyond it; there are {length(planned, solid)}."
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
        mend=_add_rings(planned, joint),
    )


def _not_solid(planned: Planned, joint: WorkedJoint) -> Iterator[Check]:
    limit = joint.joint.mortise_diameter_mm
    for ring in joint.bored:
        hole = 2 * ring.hole_radius_mm
        if hole <= limit + _HARDLY_MM:
            continue
        yield Check(
            code="joint-not-solid",
            severity=Severity.STOP,
            part=ring.part,
            ring=ring.id,
            message=f"{sentence(the_ring(planned, ring))} is bored for a tenon, but its own "
            f"hole is {length(planned, hole)} wide and the mortise {length(planned, limit)}. "
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


def _add_rings(planned: Planned, joint: WorkedJoint) -> dict[str, Any] | None:
    """Copies of the end ring, the form lengthened by them, and the stack they are glued on."""
    end_ring, piece = joint.end_ring, planned.piece
    if end_ring is None or not joint.rings_to_add:
        return None
    bottom = joint.joint.mortise.end == "bottom"
    path = part_path(piece, joint.part.id)
    taken = {name for name, _ in piece.ids()}
    changes = []
    new_ids = []
    ring = end_ring.ring.model_dump(exclude_none=True, mode="json")
    for number in range(1, joint.rings_to_add + 1):
        name = _free_id(f"{end_ring.id}-more", taken)
        phase = (end_ring.ring.phase + number / 2) % 1.0
        where = 0 if bottom else "-"
        changes.append(change(f"{path}/rings/{where}", {**ring, "id": name, "phase": phase}))
        new_ids.append(name)
    rise = end_ring.ring.thickness_mm * joint.rings_to_add
    changes += _lengthened(joint, path, rise, bottom=bottom)
    changes += _stacked(planned, end_ring.id, new_ids, bottom=bottom)
    count = "a ring" if joint.rings_to_add == 1 else f"{joint.rings_to_add} rings"
    return mend(f"Add {count} at the {joint.joint.mortise.end}", *changes)


def _free_id(wanted: str, taken: set[str]) -> str:
    name, number = wanted, 2
    while name in taken:
        name, number = f"{wanted}-{number}", number + 1
    taken.add(name)
    return name


def _lengthened(
    joint: WorkedJoint, path: str, rise: float, *, bottom: bool
) -> list[dict[str, Any]]:
    part = joint.part.part
    changes = []
    outside = [point.model_dump(exclude_none=True) for point in part.outside.points]
    if bottom:
        moved = [{**point, "z_mm": point["z_mm"] + rise} for point in outside]
        points = [{**outside[0], "corner": True}, {**moved[0], "corner": True}, *moved[1:]]
    else:
        last = outside[-1]
        points = [*outside[:-1], {**last, "corner": True}]
        points.append({**last, "z_mm": last["z_mm"] + rise, "corner": True})
    changes.append(change(f"{path}/outside/points", points))
    if bottom and part.inside is not None:
        inside = [point.model_dump(exclude_none=True) for point in part.inside.points]
        raised = [{**point, "z_mm": point["z_mm"] + rise} for point in inside]
        changes.append(change(f"{path}/inside/points", raised))
        if part.inside.floor_mm is not None:
            changes.append(change(f"{path}/inside/floor_mm", part.inside.floor_mm + rise))
    if bottom and part.floor_mm is not None:
        changes.append(change(f"{path}/floor_mm", part.floor_mm + rise))
    return changes


def _stacked(
    planned: Planned, end_ring: str, new_ids: list[str], *, bottom: bool
) -> list[dict[str, Any]]:
    for index, stack in enumerate(planned.piece.stacks):
        if end_ring not in stack.rings:
            continue
        on_faceplate = (stack.mounted == "bottom") == bottom
        at = stack.rings.index(end_ring) + (0 if on_faceplate else 1)
        added = reversed(new_ids) if on_faceplate else new_ids
        rings = [*stack.rings[:at], *added, *stack.rings[at:]]
        return [change(f"/stacks/{index}/rings", rings)]
    return []
