"""The front door of the craft: from a drawing to everything that a turner must know."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from server.craft.checks import all_checks
from server.craft.document.piece import Piece
from server.craft.glue.pressure import clamps_to_reach, pressure_mpa
from server.craft.planned import Planned, work_out
from server.craft.results import PartPlan, Plan, RingPlan, Totals, plan_json
from server.craft.units import board_feet
from server.craft.worked.joints import joint_plan
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing
from server.craft.worked.weights import solid_weight

__all__ = ["Plan", "plan", "plan_json", "plan_of"]


def plan(piece: Piece, rack: Sequence[Mapping[str, Any]] = ()) -> Plan:
    """Compute the plan of a piece; `rack` is what lies there, for spare rings that fit.

    Geometry that cannot be made is no error: its numbers are None and a `stop` check says why.
    """
    return plan_of(work_out(piece), rack)


def plan_of(planned: Planned, rack: Sequence[Mapping[str, Any]] = ()) -> Plan:
    """The plan of a piece that is worked out already."""
    return Plan(
        parts=tuple(_part_plan(planned, part) for part in planned.work.parts),
        stacks=planned.stacks,
        joints=tuple(joint_plan(joint) for joint in planned.joints),
        totals=_totals(planned),
        strips=planned.strips,
        checks=all_checks(planned, rack),
    )


def _part_plan(planned: Planned, part: WorkedPart) -> PartPlan:
    rings = tuple(_ring_plan(planned, ring) for ring in part.rings)
    mass = sum(ring.mass_kg or 0.0 for ring in rings)
    return PartPlan(
        id=part.id,
        name=part.part.title,
        kind=part.part.kind,
        z_offset_mm=planned.work.offsets_mm[part.id],
        height_mm=part.height_mm,
        mass_kg=mass if rings else solid_weight(part, planned.density).mass_kg,
        rings=rings,
    )


def _ring_plan(planned: Planned, ring: WorkedRing) -> RingPlan:
    joint = planned.gluing.get(ring.id)
    overlap = joint.rough_overlap_mm2 if joint else None
    least = planned.work.limit("press-force-exceeded")
    weight = planned.weights[ring.id]
    lathe = planned.piece.lathe
    return RingPlan(
        id=ring.id,
        kind=ring.ring.kind,
        z_bottom_mm=ring.z_bottom_mm,
        z_top_mm=ring.z_top_mm,
        phase=ring.ring.phase,
        segment_count=ring.ring.segments if ring.ring.is_segmented else 0,
        finished_outside_radius_mm=ring.finished_outside_mm,
        finished_inside_radius_mm=ring.finished_inside_mm,
        outside_radius_mm=ring.outside_mm if ring.is_made else None,
        inside_radius_mm=ring.inside_mm if ring.is_made else None,
        board_width_mm=ring.needed_width_mm,
        corner_radius_mm=ring.corner_radius_mm,
        rough_overlap_mm2=overlap,
        finished_face_mm2=joint.finished_face_mm2 if joint else None,
        press_force_n=least * overlap if overlap is not None else None,
        press_pressure_mpa=pressure_mpa(lathe.press_force_n, overlap) if overlap else None,
        clamps_to_add=clamps(planned, overlap) if overlap else None,
        volume_mm3=weight.volume_mm3 if ring.is_made else None,
        mass_kg=weight.mass_kg if ring.is_made else None,
        segments=planned.segments[ring.id],
    )


def clamps(planned: Planned, overlap_mm2: float) -> int | None:
    """Clamps beside the press that reach the least pressure; None where clamps press nothing."""
    lathe = planned.piece.lathe
    if lathe.clamp_force_n <= 0:
        return None
    least = planned.work.limit("press-force-exceeded")
    return clamps_to_reach(least, overlap_mm2, lathe.press_force_n, lathe.clamp_force_n)


def _totals(planned: Planned) -> Totals:
    work, balance = planned.work, planned.balance
    rings = [ring for part in work.parts for ring in part.rings]
    return Totals(
        rings=len(rings),
        segments=sum(ring.ring.segments for ring in rings if ring.ring.is_segmented),
        height_mm=work.top_mm - work.bottom_mm,
        largest_diameter_mm=2 * max(part.outside.bounds[2] for part in work.parts),
        mass_kg=balance.mass_kg,
        capacity_ml=balance.capacity_ml,
        centre_of_gravity_mm=balance.centre_of_gravity_mm,
        tip_angle_deg=balance.tip_angle_deg,
        full_tip_angle_deg=balance.full_tip_angle_deg,
        board_feet=board_feet(
            math.fsum(row.thickness_mm * row.width_mm * row.length_mm for row in planned.strips),
            1.0,
            1.0,
        ),
    )
