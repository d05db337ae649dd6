"""What each ring and the whole piece weigh, hold and balance on."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from server.craft.document.assembly import Joint
from server.craft.form.solids import (
    Solid,
    body,
    contents,
    foot_radius,
    slab_solids,
    tip_angle_deg,
    together,
)
from server.craft.records import record
from server.craft.worked.divided import wood_volumes
from server.craft.worked.piece import WorkedPart, WorkedPiece

MM3_PER_M3 = 1e9
MM3_PER_ML = 1e3
WATER_KG_M3 = 1000.0


@record
class Weight:
    """Wood of one body: its volume (mm³), mass (kg) and the height of its centroid (mm)."""

    volume_mm3: float
    mass_kg: float
    centroid_mm: float

    @property
    def kg_per_mm3(self) -> float:
        """Mean density."""
        return self.mass_kg / self.volume_mm3 if self.volume_mm3 > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Balance:
    """The whole piece on its foot; heights in mm above its lowest point, angles in degrees."""

    mass_kg: float
    capacity_ml: float
    centre_of_gravity_mm: float | None
    tip_angle_deg: float | None
    full_tip_angle_deg: float | None


def ring_weights(part: WorkedPart, density: Mapping[str, float]) -> dict[str, Weight]:
    """Volume, mass and centroid of each finished ring of a part. `density` in kg/m³ by wood."""
    if not part.rings:
        return {}
    planes = [part.rings[0].z_bottom_mm, *(ring.z_top_mm for ring in part.rings)]
    solids = slab_solids(part.outside, part.inside, part.floor_mm, planes)
    woods = wood_volumes(part, planes, solids)
    return {
        ring.id: _weigh(volumes, solid, density)
        for ring, volumes, solid in zip(part.rings, woods, solids, strict=True)
    }


def _weigh(volumes: Mapping[str, float], solid: Solid, density: Mapping[str, float]) -> Weight:
    mass = math.fsum(volume * density[wood] for wood, volume in volumes.items())
    return Weight(math.fsum(volumes.values()), mass / MM3_PER_M3, solid.centroid_mm)


def balance(
    work: WorkedPiece, weights: Mapping[str, Weight], density: Mapping[str, float]
) -> Balance:
    """Mass, contents and stability of the assembled piece standing on its foot."""
    ground = work.bottom_mm
    masses = []
    for part in work.parts:
        up = work.offsets_mm[part.id] - ground
        masses += [(w.mass_kg, w.centroid_mm + up) for w in _bodies(part, weights, density)]
    for joint in work.piece.joints:
        masses += _joint_masses(work, joint, weights, density)
    mass, centre = together(masses)
    liquid, level = _contents(work, ground)
    foot = max(
        foot_radius(part.outside)
        for part in work.parts
        if work.offsets_mm[part.id] + part.z0_mm <= ground + 1e-6
    )
    full = together([(mass, centre), (liquid * WATER_KG_M3 / MM3_PER_M3, level)])
    return Balance(
        mass_kg=mass,
        capacity_ml=liquid / MM3_PER_ML,
        centre_of_gravity_mm=centre if mass > 0 else None,
        tip_angle_deg=tip_angle_deg(foot, centre) if mass > 0 else None,
        full_tip_angle_deg=tip_angle_deg(foot, full[1]) if mass > 0 and liquid > 0 else None,
    )


def _bodies(
    part: WorkedPart, weights: Mapping[str, Weight], density: Mapping[str, float]
) -> list[Weight]:
    if part.rings:
        return [weights[ring.id] for ring in part.rings]
    return [solid_weight(part, density)]


def solid_weight(part: WorkedPart, density: Mapping[str, float]) -> Weight:
    """A part turned from one solid, or one whose rings are not drawn yet, in its own wood."""
    solid = body(part.outside, part.inside, part.floor_mm)
    mass = solid.volume_mm3 * density[part.part.own_wood] / MM3_PER_M3
    return Weight(solid.volume_mm3, mass, solid.centroid_mm)


def _contents(work: WorkedPiece, ground: float) -> tuple[float, float]:
    held = []
    for part in work.parts:
        if part.inside is not None:
            inside = contents(part.outside, part.inside, part.floor_mm)
            up = work.offsets_mm[part.id] - ground
            held.append((inside.volume_mm3, inside.centroid_mm + up))
    return together(held)


def _joint_masses(
    work: WorkedPiece, joint: Joint, weights: Mapping[str, Weight], density: Mapping[str, float]
) -> list[tuple[float, float]]:
    """What the tenon adds and the mortise takes, each with its height above the ground."""
    part = work.by_part[joint.mortise.part]
    up = work.offsets_mm[part.id] - work.bottom_mm
    top = joint.mortise.end == "top"
    end = part.z1_mm if top else part.z0_mm
    sense = -1.0 if top else 1.0
    tenon_area = math.pi / 4 * joint.diameter_mm**2
    tenon_wood = density[work.by_part[joint.tenon.part].part.own_wood]
    added = tenon_area * joint.depth_mm * tenon_wood / MM3_PER_M3
    masses = [(added, end + sense * joint.depth_mm / 2 + up)]
    bored_area = math.pi / 4 * joint.mortise_diameter_mm**2
    far = end + sense * joint.mortise_depth_mm
    for low, high, kg_per_mm3 in _layers(part, weights, density):
        bottom, ceiling = max(low, min(end, far)), min(high, max(end, far))
        if ceiling > bottom:
            taken = bored_area * (ceiling - bottom) * kg_per_mm3
            masses.append((-taken, (bottom + ceiling) / 2 + up))
    return masses


def _layers(
    part: WorkedPart, weights: Mapping[str, Weight], density: Mapping[str, float]
) -> list[tuple[float, float, float]]:
    if part.rings:
        return [
            (ring.z_bottom_mm, ring.z_top_mm, weights[ring.id].kg_per_mm3) for ring in part.rings
        ]
    return [(part.z0_mm, part.z1_mm, density[part.part.own_wood] / MM3_PER_M3)]
