"""Mortise and tenon: how much solid wood is there, which rings are bored, how many to add."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import shapely

from server.craft.document.assembly import Joint
from server.craft.form.depth import solid_depth_mm
from server.craft.form.outline import half_section, polygons
from server.craft.form.walls import SAGITTA_MM
from server.craft.results import BoredRing, JointPlan
from server.craft.worked.piece import WorkedPart, WorkedPiece
from server.craft.worked.rings import WorkedRing

_HARDLY = 1e-6


@dataclass(frozen=True, slots=True)
class WorkedJoint:
    """A joint with the wood of its mortised part: beyond the mortise, and least around it.

    `beside_mm` is the least around it in each bored ring.
    """

    joint: Joint
    part: WorkedPart
    solid_depth_mm: float
    around_mm: float
    bored: tuple[WorkedRing, ...]
    beside_mm: Mapping[str, float]

    @property
    def needed_depth_mm(self) -> float:
        """Depth, end clearance and the wood to be left beyond."""
        return self.joint.mortise_depth_mm + self.joint.web_mm

    @property
    def end_ring(self) -> WorkedRing | None:
        """The ring at the mortised end."""
        if not self.part.rings:
            return None
        return self.part.rings[0 if self.joint.mortise.end == "bottom" else -1]

    @property
    def rings_to_add(self) -> int:
        """How many more rings like the one at that end the joint takes."""
        missing = self.needed_depth_mm - self.solid_depth_mm
        if missing <= _HARDLY or self.end_ring is None:
            return 0
        return math.ceil(missing / self.end_ring.ring.thickness_mm - _HARDLY)


def work_joints(work: WorkedPiece) -> tuple[WorkedJoint, ...]:
    """Every joint of the piece with the wood around it."""
    return tuple(_work_joint(work, joint) for joint in work.piece.joints)


def _work_joint(work: WorkedPiece, joint: Joint) -> WorkedJoint:
    part = work.by_part[joint.mortise.part]
    from_top = joint.mortise.end == "top"
    radius = joint.mortise_diameter_mm / 2
    solid = solid_depth_mm(part.outside, part.inside, part.floor_mm, radius, top=from_top)
    end = part.z1_mm if from_top else part.z0_mm
    deep = joint.mortise_depth_mm
    low, high = (end - deep, end) if from_top else (end, end + deep)
    bored = tuple(
        ring
        for ring in part.rings
        if ring.z_bottom_mm < high - _HARDLY and ring.z_top_mm > low + _HARDLY
    )
    air = _air(part, low, high)
    around = _around_mm(part, air, radius, (low, high))
    beside = {
        ring.id: _around_mm(
            part, air, radius, (max(low, ring.z_bottom_mm), min(high, ring.z_top_mm))
        )
        for ring in bored
    }
    return WorkedJoint(joint, part, solid, around, bored, beside)


def _air(part: WorkedPart, low: float, high: float) -> list[shapely.Polygon]:
    """The air beside the wood between two heights, but for that at the axis.

    Air at the axis is no matter of a bore's side: it is what `solid_depth_mm` tells.
    """
    reach = part.outside.bounds[2] + 1.0
    wood = half_section(part.outside, part.inside, part.floor_mm, SAGITTA_MM)
    air = polygons(shapely.difference(shapely.box(0.0, low, reach, high), wood))
    return [piece for piece in air if piece.bounds[0] > _HARDLY]


def _around_mm(
    part: WorkedPart, air: list[shapely.Polygon], radius: float, heights: tuple[float, float]
) -> float:
    """Least wood between the side of a bore, from one height to another, and the air beside it."""
    side = shapely.LineString([(radius, z) for z in heights])
    beside = (float(shapely.distance(side, piece)) for piece in air)
    return min(beside, default=max(0.0, part.outside.bounds[2] - radius))


def joint_plan(worked: WorkedJoint) -> JointPlan:
    """The joint as the plan answers it."""
    joint = worked.joint
    return JointPlan(
        id=joint.id,
        tenon_part=joint.tenon.part,
        mortise_part=joint.mortise.part,
        mortise_end=joint.mortise.end,
        tenon_diameter_mm=joint.diameter_mm,
        tenon_length_mm=joint.depth_mm,
        mortise_diameter_mm=joint.mortise_diameter_mm,
        mortise_depth_mm=joint.mortise_depth_mm,
        solid_depth_mm=worked.solid_depth_mm,
        needed_depth_mm=worked.needed_depth_mm,
        bored_rings=tuple(ring.id for ring in worked.bored),
        rings_to_add=worked.rings_to_add,
        around_mm=worked.around_mm,
        bored=tuple(_bored(worked, ring) for ring in worked.bored),
    )


def _bored(worked: WorkedJoint, ring: WorkedRing) -> BoredRing:
    hole, around = 2 * ring.hole_radius_mm, worked.beside_mm[ring.id]
    if hole > worked.joint.mortise_diameter_mm + _HARDLY:
        state = "open"
    elif around < worked.joint.web_mm - _HARDLY:
        state = "thin"
    else:
        state = "plugged" if ring.ring.plug is not None else "solid"
    return BoredRing(ring.id, state, hole, around)
