"""Stacks on their faceplates: height, roughest diameter, phases and registers as they are seen."""

import math

from server.craft.document.assembly import Stack
from server.craft.results import StackPlan, StackRing
from server.craft.rings.joints import joint_angles_deg
from server.craft.rings.shapes import RingGeometry
from server.craft.rings.stacks import as_seen, register_mark
from server.craft.worked.piece import WorkedPiece
from server.craft.worked.rings import WorkedRing

OTHER_END = {"top": "bottom", "bottom": "top"}


def stack_plan(work: WorkedPiece, stack: Stack) -> StackPlan:
    """The stack as the plan answers it."""
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
    )


def _stack_ring(stack: Stack, rings: list[WorkedRing], order: int) -> StackRing:
    ring = rings[order]
    drawn = ring.ring
    shares = drawn.shares is not None
    seen = as_seen(drawn.phase, drawn.segments, stack.mounted, shares=shares)
    register = _register(stack, rings[order - 1], ring) if order else None
    return StackRing(ring.id, order + 1, seen.phase, seen.first_segment, seen.step, register)


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
