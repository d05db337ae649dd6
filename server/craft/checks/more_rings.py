"""The mend of a joint that is too shallow: more rings at the mortised end.

The end ring is copied, the form is lengthened by an upright piece at that end, and the new rings
go on the stack of the end ring.
"""

from typing import Any

from server.craft.document.base import LARGEST_MM
from server.craft.document.part import MOST_RINGS
from server.craft.mends import change, mend, part_path
from server.craft.planned import Planned
from server.craft.worked.joints import WorkedJoint
from server.craft.worked.rings import WorkedRing

Point = dict[str, Any]
_LEVEL_MM = 1e-6


def add_rings(planned: Planned, joint: WorkedJoint) -> dict[str, Any] | None:
    """Copies of the end ring, the form lengthened by them, and the stack they are glued on.

    None where rings there would be no wood to bore: a vessel's mouth, an end that is narrower.
    """
    end_ring, piece = joint.end_ring, planned.piece
    count = joint.rings_to_add
    if end_ring is None or not count or not _would_help(joint, end_ring):
        return None
    bottom = joint.joint.mortise.end == "bottom"
    path = part_path(piece, joint.part.id)
    copies = _copies(planned, end_ring, count)
    changes = [change(f"{path}/rings/{0 if bottom else '-'}", copy) for copy in copies]
    rise = end_ring.ring.thickness_mm * count
    if joint.part.z1_mm + rise > LARGEST_MM or len(joint.part.rings) + count > MOST_RINGS:
        return None
    changes += _lengthened(joint, path, rise, bottom=bottom)
    changes += _stacked(planned, end_ring.id, [copy["id"] for copy in copies], bottom=bottom)
    words = "a ring" if count == 1 else f"{count} rings"
    return mend(f"Add {words} at the {joint.joint.mortise.end}", *changes) | {"rings_to_add": count}


def _would_help(joint: WorkedJoint, end_ring: WorkedRing) -> bool:
    """Whether a ring more has wood where the mortise goes."""
    top = joint.joint.mortise.end == "top"
    if top and joint.part.inside is not None:
        return False
    points = [point.model_dump() for point in joint.part.part.outside.points]
    edge = points[_edge(points, bottom=not top)]["r_mm"]
    return bool(end_ring.is_made and edge > joint.joint.mortise_diameter_mm / 2)


def _copies(planned: Planned, end_ring: WorkedRing, count: int) -> list[dict[str, Any]]:
    """Rings like the one at the end, each turned by half a segment against the one before."""
    taken = {name for name, _ in planned.piece.ids()}
    ring = end_ring.ring.model_dump(exclude_none=True, mode="json")
    return [
        {
            **ring,
            "id": _free_id(f"{end_ring.id}-more", taken),
            "phase": (end_ring.ring.phase + number / 2) % 1.0,
        }
        for number in range(1, count + 1)
    ]


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
    outside = [point.model_dump(exclude_none=True) for point in part.outside.points]
    changes = [change(f"{path}/outside/points", _with_piece(outside, rise, bottom=bottom))]
    if not bottom:
        return changes
    if part.inside is not None:
        inside = [point.model_dump(exclude_none=True) for point in part.inside.points]
        changes.append(change(f"{path}/inside/points", _raised(inside, rise)))
        if part.inside.floor_mm is not None:
            changes.append(change(f"{path}/inside/floor_mm", part.inside.floor_mm + rise))
    if part.floor_mm is not None:
        changes.append(change(f"{path}/floor_mm", part.floor_mm + rise))
    return changes


def _with_piece(points: list[Point], rise: float, *, bottom: bool) -> list[Point]:
    """The outside with an upright piece at the edge of its lowest or highest plane.

    What comes before the edge, a hollowed foot or the side, stays; what comes after it rises.
    """
    at = _edge(points, bottom=bottom)
    edge = {**points[at], "corner": True}
    raised = {**edge, "z_mm": edge["z_mm"] + rise}
    return [*points[:at], edge, raised, *_raised(points[at + 1 :], rise)]


def _edge(points: list[Point], *, bottom: bool) -> int:
    """The outermost point of the lowest or of the highest plane."""
    heights = [point["z_mm"] for point in points]
    level = min(heights) if bottom else max(heights)
    on_it = [i for i, z in enumerate(heights) if abs(z - level) <= _LEVEL_MM]
    return max(on_it, key=lambda i: float(points[i]["r_mm"]))


def _raised(points: list[Point], rise: float) -> list[Point]:
    return [{**point, "z_mm": point["z_mm"] + rise} for point in points]


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
