"""Whether a slender stem stands a push at the rim."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf, pi

from server.craft.wood.properties import MissingPropertyError, Species

SIDE_LOAD_N = 50.0
LEAST_SAFETY = 3.0


@dataclass(frozen=True, slots=True)
class StemStrength:
    """The weakest section of a stem under a side load: safety against breaking there."""

    safety: float
    z_mm: float
    diameter_mm: float
    arm_mm: float
    stress_mpa: float


def bending_stress_mpa(force_n: float, arm_mm: float, diameter_mm: float) -> float:
    """Largest bending stress of a solid round at `arm_mm` from the force: 32·F·a/(π·d³)."""
    return 32.0 * force_n * arm_mm / (pi * diameter_mm**3)


def end_deflection_mm(
    force_n: float, length_mm: float, diameter_mm: float, moe_gpa: float
) -> float:
    """How far the free end of a solid round cantilever gives: F·l³/(3·E·I), I = π·d⁴/64."""
    second_moment_mm4 = pi * diameter_mm**4 / 64.0
    return force_n * length_mm**3 / (3.0 * moe_gpa * 1000.0 * second_moment_mm4)


def stem_safety(mor_mpa: float, diameter_mm: float, force_n: float, arm_mm: float) -> float:
    """Bending strength over bending stress: MOR·π·d³/32/(F·a).

    MOR is the modulus of rupture of clear straight-grained wood at 12 %; a stem with a knot,
    a joint or grain running out of it has less. Without force or arm: infinite.
    """
    stress = bending_stress_mpa(force_n, arm_mm, diameter_mm)
    return inf if stress == 0.0 else mor_mpa / stress


def weakest_section(
    wood: Species,
    sections: Iterable[tuple[float, float]],
    rim_z_mm: float,
    force_n: float = SIDE_LOAD_N,
) -> StemStrength:
    """The section that breaks first when the rim is pushed aside and the foot is held.

    `sections` are (height, diameter) along the solid stem, mm; each has the arm from there to
    the rim. Without a section there is nothing to break: infinite safety. Raises
    MissingPropertyError where the wood's strength is not known.
    """
    if wood.mor_mpa is None:
        raise MissingPropertyError(f"The bending strength of {wood.name} is not known.")
    strengths = []
    for z_mm, diameter_mm in sections:
        arm_mm = max(0.0, rim_z_mm - z_mm)
        safety = stem_safety(wood.mor_mpa, diameter_mm, force_n, arm_mm)
        stress = bending_stress_mpa(force_n, arm_mm, diameter_mm)
        strengths.append(StemStrength(safety, z_mm, diameter_mm, arm_mm, stress))
    unbroken = StemStrength(inf, rim_z_mm, 0.0, 0.0, 0.0)
    return min(strengths, key=lambda strength: strength.safety, default=unbroken)
