"""What a plan says: frozen values with the field names that other programs rely on.

Lengths in mm, angles in degrees, masses in kg, forces in N, areas in mm². Nothing is rounded.
None stands where the geometry cannot be made; a `stop` check then says why.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any

from server.craft.findings import Check
from server.craft.records import record


@record
class SegmentRow:
    """Segments of one ring that are alike: same wood, same cut."""

    wood: str
    count: int
    mitre_deg: float
    bevel_deg: float
    outer_edge_mm: float
    inner_edge_mm: float
    width_mm: float
    board_thickness_mm: float | None = None
    blank_length_mm: float | None = None


@record
class RingPlan:
    """One ring: where it lies, how large, what to cut, and how it is glued to the one before."""

    id: str
    kind: str
    z_bottom_mm: float
    z_top_mm: float
    phase: float
    segment_count: int
    finished_outside_radius_mm: float | None
    finished_inside_radius_mm: float | None
    outside_radius_mm: float | None
    inside_radius_mm: float | None
    board_width_mm: float | None
    corner_radius_mm: float | None
    rough_overlap_mm2: float | None
    finished_face_mm2: float | None
    press_force_n: float | None
    press_pressure_mpa: float | None
    clamps_to_add: int | None
    volume_mm3: float | None
    mass_kg: float | None
    segments: tuple[SegmentRow, ...]


@dataclass(frozen=True, slots=True)
class PartPlan:
    """One part; its own zero stands at `z_offset_mm` on the axis of the assembled piece."""

    id: str
    name: str
    kind: str
    z_offset_mm: float
    height_mm: float
    mass_kg: float | None
    rings: tuple[RingPlan, ...]


@record
class StackRing:
    """A ring as the person gluing sees it: `seen_phase` counter-clockwise looking at the face.

    `first_segment` of the drawing follows the joint there, `step` says which way the numbers run.
    `register_mm` is from a joint of the ring before it on to the next of this one, along the rim,
    counter-clockwise as seen; `zero_mm` from the part's zero, carried up the stack as a line, to
    the joint before `first_segment`.
    """

    ring: str
    order: int
    seen_phase: float
    first_segment: int
    step: int
    register_mm: float | None
    zero_mm: float | None


@dataclass(frozen=True, slots=True)
class StackJoin:
    """Where a stack is put on the stack below it: its ring on the other's, both turned.

    `register_mm` is from a joint of the lower ring on to the next of the upper one, along the rim,
    counter-clockwise seen from above.
    """

    ring: str
    onto: str
    onto_stack: str
    register_mm: float | None
    rough_overlap_mm2: float | None
    finished_face_mm2: float


@dataclass(frozen=True, slots=True)
class StackPlan:
    """A stack on its faceplate; `height_mm` includes the waste block.

    `joins` are its joints with stacks below it in the part, glued when both are turned.
    """

    id: str
    part: str
    name: str
    mounted: str
    faceplate: str | None
    glue: str | None
    rings: tuple[StackRing, ...]
    height_mm: float
    roughest_diameter_mm: float | None
    open_end: str
    joins: tuple[StackJoin, ...]


@dataclass(frozen=True, slots=True)
class BoredRing:
    """A ring that a mortise goes into: solid, plugged, open (its hole is wider), or thin around."""

    ring: str
    state: str
    hole_mm: float
    around_mm: float


@dataclass(frozen=True, slots=True)
class JointPlan:
    """A mortise and tenon; `solid_depth_mm` is the wood there, `needed_depth_mm` what it takes.

    `around_mm` is the least wood beside the mortise.
    """

    id: str
    tenon_part: str
    mortise_part: str
    mortise_end: str
    tenon_diameter_mm: float
    tenon_length_mm: float
    mortise_diameter_mm: float
    mortise_depth_mm: float
    solid_depth_mm: float | None
    needed_depth_mm: float
    bored_rings: tuple[str, ...]
    rings_to_add: int
    around_mm: float
    bored: tuple[BoredRing, ...]


@record
class StripRow:
    """What to cut at the saw, one row for each ring and different segment."""

    id: str
    part: str
    ring: str | None
    kind: str
    wood: str
    thickness_mm: float
    width_mm: float
    mitre_deg: float
    bevel_deg: float
    outer_edge_mm: float
    inner_edge_mm: float
    count: int
    length_mm: float


@dataclass(frozen=True, slots=True)
class Totals:
    """The whole piece. Heights are above the lowest point of the assembled piece."""

    rings: int
    segments: int
    height_mm: float
    largest_diameter_mm: float
    mass_kg: float | None
    capacity_ml: float
    centre_of_gravity_mm: float | None
    tip_angle_deg: float | None
    full_tip_angle_deg: float | None
    board_feet: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything computed from a drawing."""

    parts: tuple[PartPlan, ...]
    stacks: tuple[StackPlan, ...]
    joints: tuple[JointPlan, ...]
    totals: Totals
    strips: tuple[StripRow, ...]
    checks: tuple[Check, ...]

    def part(self, part_id: str) -> PartPlan:
        """The part of that id. Raises KeyError where there is none."""
        for part in self.parts:
            if part.id == part_id:
                return part
        raise KeyError(part_id)


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))


def plain(value: Any) -> Any:
    """A result as JSON's own types: objects, lists, text, numbers, null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {name: plain(getattr(value, name)) for name in _names(type(value))}
    if isinstance(value, Mapping):
        return {str(key): plain(below) for key, below in value.items()}
    if isinstance(value, list | tuple):
        return [plain(below) for below in value]
    return value.value if isinstance(value, Enum) else value


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan as the API answers it."""
    answer: dict[str, Any] = plain(plan)
    return answer
