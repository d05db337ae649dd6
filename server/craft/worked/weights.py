"""What each ring and the whole piece weigh, hold and balance on."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from server.craft.document.assembly import Joint
from server.craft.form.slopes import Floats
from server.craft.form.solids import (
    Solid,
    body,
    contents,
    foot_radius,
    section_integrals,
    slab_solids,
    tip_angle_deg,
    together,
)
from server.craft.worked.piece import WorkedPart, WorkedPiece
from server.craft.worked.rings import WorkedRing

MM3_PER_M3 = 1e9
MM3_PER_ML = 1e3
WATER_KG_M3 = 1000.0


@dataclass(frozen=True, slots=True)
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
    lost = _taken_from_segments(part, planes)
    return {
        ring.id: _weigh(ring, solid, lost.get(ring.index, (0.0, 0.0, 0.0)), part, density)
        for ring, solid in zip(part.rings, solids, strict=True)
    }


def _weigh(
    ring: WorkedRing,
    solid: Solid,
    taken: tuple[float, float, float],
    part: WorkedPart,
    density: Mapping[str, float],
) -> Weight:
    """A ring's segments by their share of the turn, then spacers and plug in their own wood."""
    between, hole, plug = taken
    rest = solid.volume_mm3 - between - hole - plug
    opening = ring.ring.gap if ring.ring.is_segmented else None
    gap = opening.angle_deg if opening and opening.angle_deg else 0.0
    rest *= max(0.0, 1 - ring.ring.segments * gap / 360)
    shares = ring.ring.shares or (1.0,) * ring.ring.segments
    turn = math.fsum(shares)
    mean = math.fsum(
        share / turn * density[wood] for share, wood in zip(shares, ring.woods, strict=True)
    )
    volume, mass = rest, rest * mean
    if ring.ring.spacer is not None:
        volume += between
        mass += between * density[ring.ring.spacer.wood or part.part.own_wood]
    if ring.ring.plug is not None:
        volume += plug
        mass += plug * density[ring.ring.plug.wood or part.part.own_wood]
    return Weight(volume, mass / MM3_PER_M3, solid.centroid_mm)


def _taken_from_segments(
    part: WorkedPart, planes: list[float]
) -> dict[int, tuple[float, float, float]]:
    """Per ring: volume between its segments, of the open hole at pie tips, and of its plug."""
    kinds: dict[tuple[int, float, float], list[int]] = {}
    for ring in part.rings:
        key = (ring.ring.segments, _between_mm(ring), _plug_radius_mm(ring))
        if key[1] or key[2]:
            kinds.setdefault(key, []).append(ring.index)
    taken = {}
    for key, indices in kinds.items():
        totals = section_integrals(
            part.outside, part.inside, part.floor_mm, planes, _taken_area(*key)
        )
        for index in indices:
            strips, hole, plug = (float(value) for value in totals[:, index])
            taken[index] = (strips, hole, plug)
    return taken


def _between_mm(ring: WorkedRing) -> float:
    if not ring.ring.is_segmented:
        return 0.0
    if ring.ring.spacer is not None:
        return ring.ring.spacer.thickness_mm
    return (ring.ring.gap.width_mm or 0.0) if ring.ring.gap else 0.0


def _plug_radius_mm(ring: WorkedRing) -> float:
    return ring.ring.plug.diameter_mm / 2 if ring.ring.plug else 0.0


def _taken_area(segments: int, between_mm: float, plug_mm: float) -> Callable[..., Floats]:
    """Areas inside radius r of the strips between segments, the hole at their tips, the plug.

    A strip of thickness t along a radius covers r²·asin(t/2r) + (t/2)·√(r² − t²/4) of the disc of
    radius r, on its one side of the axis. Where the strips meet there is a hole, or the plug.
    """
    hole = between_mm / 2 / math.sin(math.pi / segments)
    start = max(hole, plug_mm)

    def strips(r: Floats) -> Floats:
        if not between_mm:
            return np.zeros_like(r)
        far = np.maximum(r, max(start, between_mm / 2))
        half = between_mm / 2

        def one(radius: Floats) -> Floats:
            area: Floats = radius**2 * np.arcsin(half / radius) + half * np.sqrt(
                radius**2 - half**2
            )
            return area

        covered: Floats = segments * (one(far) - one(np.full_like(far, max(start, half))))
        return covered

    def area(r: Floats, _z: Floats) -> Floats:
        centre = math.pi * np.minimum(r, start) ** 2
        plug = math.pi * np.minimum(r, plug_mm) ** 2
        return np.stack([strips(r), centre - plug, plug])

    return area


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
