"""Stacks on their faceplates: height, roughest diameter, phases and registers as they are seen."""

import math
from collections.abc import Iterator, Sequence

from server.craft.document.assembly import Stack
from server.craft.results import StackJoin, StackPlan, StackRing
from server.craft.rings.joints import joint_angles_deg
from server.craft.rings.shapes import RingGeometry
from server.craft.rings.stacks import as_seen, matching_mark, register_mark, zero_mark
from server.craft.worked.gluing import GlueJoint
from server.craft.worked.piece import WorkedPiece
from server.craft.worked.rings import WorkedRing

OTHER_END = {"top": "bottom", "bottom": "top"}


def stack_plan(work: WorkedPiece, stack: Stack, joins: Sequence[GlueJoint]) -> StackPlan:
    """The stack as the plan answers it. `joins` are the joints that no stack presses."""
    rings = [work.by_ring[ring] for ring in stack.rings]
    corners = [ring.corner_radius_mm for ring in rings if ring.corner_radius_mm is not None]
    block = stack.waste_block.thickness_mm if stack.waste_block else 0.0
    return StackPlan(
        id=stack.id,
        part=stack.part,
        name=stack.title,
        mounted=stack.mounted,
        faceplate=stack.faceplate,
        glue=stack.glue,
        rings=tuple(_stack_ring(stack, rings, order) for order in range(len(rings))),
        height_mm=math.fsum(ring.ring.thickness_mm for ring in rings) + block,
        roughest_diameter_mm=2 * max(corners) if corners else None,
        open_end=OTHER_END[stack.mounted],
        joins=tuple(_stack_joins(work, stack, joins)),
    )


def _stack_joins(
    work: WorkedPiece, stack: Stack, joins: Sequence[GlueJoint]
) -> Iterator[StackJoin]:
    stacks = {ring: other.id for other in work.piece.stacks for ring in other.rings}
    for join in joins:
        below = stacks.get(join.under.id)
        if stacks.get(join.ring.id) == stack.id and below not in (None, stack.id):
            assert below is not None
            yield StackJoin(
                ring=join.ring.id,
                onto=join.under.id,
                onto_stack=below,
                register_mm=_matching(join.under, join.ring),
                rough_overlap_mm2=join.rough_overlap_mm2,
                finished_face_mm2=join.finished_face_mm2,
            )


def _matching(lower: WorkedRing, upper: WorkedRing) -> float | None:
    below, above = joints_of(lower), joints_of(upper)
    if below is None or above is None or upper.outside_mm is None:
        return None
    low = joint_angles_deg(below, lower.ring.phase)
    high = joint_angles_deg(above, upper.ring.phase)
    return matching_mark(low, high, upper.outside_mm).along_rim_mm


def _stack_ring(stack: Stack, rings: list[WorkedRing], order: int) -> StackRing:
    ring = rings[order]
    drawn = ring.ring
    shares = drawn.shares is not None
    seen = as_seen(drawn.phase, drawn.segments, stack.mounted, shares=shares)
    register = _register(stack, rings[order - 1], ring) if order else None
    zero = None
    if drawn.is_segmented and ring.outside_mm is not None:
        zero = zero_mark(seen, drawn.segments, ring.outside_mm).along_rim_mm
    return StackRing(ring.id, order + 1, seen.phase, seen.first_segment, seen.step, register, zero)


def _register(stack: Stack, before: WorkedRing, ring: WorkedRing) -> float | None:
    laid_on, to_lay = joints_of(before), joints_of(ring)
    if laid_on is None or to_lay is None or ring.outside_mm is None:
        return None
    laid = joint_angles_deg(laid_on, before.ring.phase)
    new = joint_angles_deg(to_lay, ring.ring.phase)
    return register_mark(laid, new, ring.outside_mm, stack.mounted).along_rim_mm


def joints_of(ring: WorkedRing) -> RingGeometry | None:
    """The flat ring that shows where a ring's joints lie; None without joints."""
    return ring.flat or (ring.stave.big_end if ring.stave else None)
