"""The wood as it is now in the (r, z) half plane: rough where nothing is turned, finished after."""

from dataclasses import dataclass

import shapely
from shapely.affinity import scale as scaled

from server.craft.form.outline import enclosed, half_section, hollow, polygons
from server.craft.lathe.steps import Step
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing
from server.rooms.lathe.bench import LatheBench

_SAGITTA_MM = 0.1
_BLANK_MM = 4.0


@dataclass(frozen=True, slots=True)
class Slab:
    """A ring or the whole solid: its wood now as polygons, its height and its colours."""

    low_mm: float
    high_mm: float
    shapes: tuple[shapely.Polygon, ...]
    colour: str
    grain: str


@dataclass(frozen=True, slots=True)
class Wood:
    """What is on the lathe: slabs from the bottom up, and the outline it is to have."""

    slabs: tuple[Slab, ...]
    target: tuple[shapely.Polygon, ...]
    low_mm: float
    high_mm: float
    radius_mm: float


def wood_now(bench: LatheBench, step: Step, part: WorkedPart) -> Wood:
    """The wood of the current step's body, as far as the steps that are done have turned it."""
    rings = _rings(bench, step, part)
    low = min((ring.z_bottom_mm for ring in rings), default=part.z0_mm)
    high = max((ring.z_top_mm for ring in rings), default=part.z1_mm)
    finished = half_section(part.outside, part.inside, part.floor_mm, _SAGITTA_MM)
    if rings:
        slabs = tuple(_slab(bench, step, part, ring) for ring in rings)
        finished = shapely.intersection(finished, shapely.box(0, low, 1e4, high))
    else:
        tenons = _tenons(bench, part)
        low, high = low - tenons.bottom_mm, high + tenons.top_mm
        slabs = (_solid(bench, step, part, tenons),)
        finished = shapely.union_all([finished, *tenons.shapes])
    target = tuple(polygons(finished))
    reach = [shape.bounds[2] for slab in slabs for shape in slab.shapes]
    reach += [shape.bounds[2] for shape in target]
    return Wood(slabs, target, low, high, max(reach, default=1.0))


@dataclass(frozen=True, slots=True)
class Tenons:
    """The tenons of a solid: how far they reach beyond its ends, and their half sections."""

    bottom_mm: float
    top_mm: float
    shapes: tuple[shapely.Polygon, ...]
    turned: tuple[shapely.Polygon, ...]


def _tenons(bench: LatheBench, part: WorkedPart) -> Tenons:
    reach = {"bottom": 0.0, "top": 0.0}
    shapes, turned = [], []
    for joint in bench.piece.joints:
        if joint.tenon.part != part.id:
            continue
        end, radius, deep = joint.tenon.end, joint.diameter_mm / 2, joint.depth_mm
        reach[end] = max(reach[end], deep)
        z = part.z0_mm - deep if end == "bottom" else part.z1_mm
        shapes.append(shapely.box(0.0, z, radius, z + deep))
        if bench.is_done(f"tenon:{joint.id}"):
            turned.append(shapely.box(radius, z, 1e4, z + deep))
    return Tenons(reach["bottom"], reach["top"], tuple(shapes), tuple(turned))


def _rings(bench: LatheBench, step: Step, part: WorkedPart) -> tuple[WorkedRing, ...]:
    stacks = [stack for stack in bench.piece.stacks if stack.id == step.stack]
    if not stacks:
        return part.rings
    own = set(stacks[0].rings)
    return tuple(ring for ring in part.rings if ring.id in own)


def _slab(bench: LatheBench, step: Step, part: WorkedPart, ring: WorkedRing) -> Slab:
    outside = ring.corner_radius_mm or ring.outside_mm or 1.0
    inside = max(0.0, ring.inside_mm if ring.is_made else 0.0)
    rough = shapely.box(inside, ring.z_bottom_mm, outside, ring.z_top_mm)
    if bench.is_done(f"rough:{step.stack or part.id}") and ring.outside_mm is not None:
        rough = shapely.box(inside, ring.z_bottom_mm, ring.outside_mm, ring.z_top_mm)
    shape = _turned(bench, step, part, rough)
    wood = bench.planned.woods.get(ring.woods[0])
    colour, grain = (wood.colour_hex, wood.grain_hex) if wood else ("#c8b090", "#a08860")
    return Slab(ring.z_bottom_mm, ring.z_top_mm, tuple(polygons(shape)), colour, grain)


def _solid(bench: LatheBench, step: Step, part: WorkedPart, tenons: Tenons) -> Slab:
    radius = part.outside.bounds[2] + _BLANK_MM
    low, high = part.z0_mm - tenons.bottom_mm, part.z1_mm + tenons.top_mm
    body = shapely.box(0.0, part.z0_mm, radius, part.z1_mm)
    ends = shapely.difference(shapely.box(0.0, low, radius, high), body)
    ends = shapely.difference(ends, shapely.union_all(list(tenons.turned)))
    wood = bench.planned.woods.get(part.part.own_wood)
    colour, grain = (wood.colour_hex, wood.grain_hex) if wood else ("#c8b090", "#a08860")
    whole = shapely.union(_turned(bench, step, part, body), ends)
    return Slab(low, high, tuple(polygons(whole)), colour, grain)


def _turned(
    bench: LatheBench, step: Step, part: WorkedPart, rough: shapely.Geometry
) -> shapely.Geometry:
    shape = rough
    if bench.is_done(f"outside:{part.id}"):
        shape = shapely.intersection(shape, enclosed(part.outside, part.inside, _SAGITTA_MM))
    inside = bench.is_done(f"inside:{part.id}") or bench.is_done(f"inside:{step.stack}")
    if part.inside is not None and inside:
        void = hollow(part.outside, part.inside, part.floor_mm, _SAGITTA_MM)
        shape = shapely.difference(shape, void)
    return _bored(bench, part, shape)


def _bored(bench: LatheBench, part: WorkedPart, shape: shapely.Geometry) -> shapely.Geometry:
    for joint in bench.piece.joints:
        if joint.mortise.part == part.id and bench.is_done(f"mortise:{joint.id}"):
            shape = shapely.difference(shape, mortise_of(part, joint.id, bench))
    return shape


def mortise_of(part: WorkedPart, joint_id: str, bench: LatheBench) -> shapely.Polygon:
    """The hole of a joint in the half plane."""
    joint = next(joint for joint in bench.piece.joints if joint.id == joint_id)
    deep, radius = joint.mortise_depth_mm, joint.mortise_diameter_mm / 2
    if joint.mortise.end == "bottom":
        return shapely.box(0, part.z0_mm, radius, part.z0_mm + deep)
    return shapely.box(0, part.z1_mm - deep, radius, part.z1_mm)


def mirrored(shape: shapely.Geometry) -> shapely.Geometry:
    """The other side of the axis."""
    return scaled(shape, xfact=-1, origin=(0, 0))
