"""What presses a joint: the lathe, clamps, a band, and whether it is enough."""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil, cos, inf, pi, radians, tan

from server.craft.wood.sources import common_practice, remembered

LEAST_MPA = 0.15
LEAST_SOURCE = common_practice("What shops live with on a lathe's press")

HANDBOOK_LIGHT = (0.35, 0.69)
HANDBOOK_HEAVY = (0.70, 1.70)
HANDBOOK_SOURCE = remembered(
    "USDA FPL Wood Handbook, chapter 10: 0.69 MPa at specific gravity 0.35 to 1.70 at 0.70; "
    "a straight line between is common practice"
)

PLATE_RATIO = 1.5
PLATE_SOURCE = common_practice("A ring wider than 1.5 times what presses it bows")

BAND_TAIL_MM = 150.0

# A clamp more for a pressure short by a rounding of the last digit would be a joke.
_ROUNDING = 1e-9


class Enough(StrEnum):
    """How a pressure stands to the least that holds and to the handbook's."""

    TOO_LITTLE = "too little"
    BELOW_HANDBOOK = "below the handbook"
    HANDBOOK = "as the handbook asks"


@dataclass(frozen=True, slots=True)
class Pressing:
    """The pressure that a force reaches on a joint and the clamps that would better it."""

    pressure_mpa: float
    least_mpa: float
    handbook_mpa: float
    enough: Enough
    clamps_to_least: int
    clamps_to_handbook: int


@dataclass(frozen=True, slots=True)
class Plate:
    """Whether a stiff plate must spread the force, and how wide it is then."""

    needed: bool
    ring_diameter_mm: float
    limit_mm: float
    plate_diameter_mm: float


def handbook_pressure_mpa(specific_gravity: float) -> float:
    """The pressure that the handbook asks for, rising with the wood's density (remembered).

    A straight line between its two ends, level beyond them.
    """
    (light, low), (heavy, high) = HANDBOOK_LIGHT, HANDBOOK_HEAVY
    share = min(1.0, max(0.0, (specific_gravity - light) / (heavy - light)))
    return low + share * (high - low)


def pressure_mpa(force_n: float, area_mm2: float) -> float:
    """Force over the rough overlap that is pressed. Nothing to press: infinite."""
    return force_n / area_mm2 if area_mm2 > 0.0 else inf


def clamps_to_reach(
    target_mpa: float, area_mm2: float, force_n: float, clamp_force_n: float
) -> int:
    """How many clamps of `clamp_force_n` each must help the press to reach the pressure.

    Raises ValueError for clamps without force where force is missing.
    """
    missing_n = target_mpa * area_mm2 - force_n
    if missing_n <= _ROUNDING * max(1.0, force_n):
        return 0
    if clamp_force_n <= 0.0:
        raise ValueError("A clamp must press with some force")
    return ceil(missing_n / clamp_force_n - _ROUNDING)


def pressing(
    area_mm2: float,
    force_n: float,
    clamp_force_n: float,
    specific_gravity: float,
    least_mpa: float = LEAST_MPA,
) -> Pressing:
    """What the press reaches on that overlap and how many clamps to add to it.

    `specific_gravity` at 12 % of the lighter wood of the joint: it crushes first.
    """
    reached = pressure_mpa(force_n, area_mm2)
    handbook = handbook_pressure_mpa(specific_gravity)
    to_least = clamps_to_reach(least_mpa, area_mm2, force_n, clamp_force_n)
    to_handbook = clamps_to_reach(handbook, area_mm2, force_n, clamp_force_n)
    enough = Enough.HANDBOOK if to_handbook == 0 else Enough.BELOW_HANDBOOK
    if to_least > 0:
        enough = Enough.TOO_LITTLE
    return Pressing(reached, least_mpa, handbook, enough, to_least, to_handbook)


def clamp_places_deg(clamps: int) -> tuple[float, ...]:
    """Where clamps go round a ring: evenly, the first at 0°."""
    return tuple(360.0 * place / clamps for place in range(clamps))


def ring_area_mm2(outside_radius_mm: float, inside_radius_mm: float) -> float:
    """The face of a round ring, mm²."""
    return pi * (outside_radius_mm**2 - inside_radius_mm**2)


def plate(ring_diameter_mm: float, presser_diameter_mm: float) -> Plate:
    """Whether the ring is too wide for what presses it; equal to the limit still passes.

    A plate is as wide as the ring.
    """
    limit = PLATE_RATIO * presser_diameter_mm
    return Plate(ring_diameter_mm > limit, ring_diameter_mm, limit, ring_diameter_mm)


def joint_face_mm2(width_mm: float, half_angle_deg: float, thickness_mm: float) -> float:
    """The face of a mitred joint of a flat ring: W/cos θ · t."""
    return width_mm / cos(radians(half_angle_deg)) * thickness_mm


def band_joint_pressure_mpa(
    tension_n: float, width_mm: float, half_angle_deg: float, thickness_mm: float
) -> float:
    """What a band clamp's tension makes in each joint of a ring: tension/(W/cos θ · t).

    Cut the ring and its band through two joints: the band's two strands press the two faces.
    Friction under the band takes some of it away from the buckle.
    """
    return tension_n / joint_face_mm2(width_mm, half_angle_deg, thickness_mm)


def band_tension_n(
    target_mpa: float, width_mm: float, half_angle_deg: float, thickness_mm: float
) -> float:
    """The tension that a band needs for that joint pressure, without friction."""
    return target_mpa * joint_face_mm2(width_mm, half_angle_deg, thickness_mm)


def band_length_mm(segments: int, outside_radius_mm: float, tail_mm: float = BAND_TAIL_MM) -> float:
    """The ring's perimeter over its flats, 2·N·R·tan θ, and a tail to pull on."""
    return 2.0 * segments * outside_radius_mm * tan(pi / segments) + tail_mm
