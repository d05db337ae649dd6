"""A stave ring from its slab of the profile: its straight board must hold the whole wall."""

import math
from dataclasses import replace

from server.craft.document.ring import Ring
from server.craft.document.shop import Allowance
from server.craft.errors import CraftError, GeometryError
from server.craft.form.curves import Curve
from server.craft.form.slabs import SlabRadii
from server.craft.rings.segments import flat_ring
from server.craft.rings.shapes import RingGeometry
from server.craft.rings.staves import StaveRing, stave_ring


def worked_stave(
    ring: Ring,
    outside: Curve,
    inside: Curve | None,
    slab_mm: tuple[float, float],
    slab: SlabRadii,
    allowance: Allowance,
) -> StaveRing:
    """The staves whose leaning boards cover the wall between the two planes.

    The radii at the big end are those of the straight lines, leaning as the staves do, that just
    clear the outside and the inside. Raises GeometryError where no such staves can be made.
    """
    low, high = slab_mm
    slope = math.tan(math.radians(ring.lean_deg))
    big_end = high if ring.lean_deg >= 0 else low
    rough = _leant(outside, slope, big_end).radius_extremes(low, high)
    big_outside = (rough[1] if rough else 0.0) + allowance.outside_mm
    big_inside = 0.0
    if slab.inside_mm > 0 and inside is not None:
        hollow = _leant(inside, slope, big_end).radius_extremes(low, high)
        big_inside = max(0.0, (hollow[0] if hollow else 0.0) - allowance.inside_mm)
    try:
        return stave_ring(
            ring.segments,
            big_outside,
            big_inside,
            high - low,
            ring.lean_deg,
            spacer_mm=ring.spacer.thickness_mm if ring.spacer else 0.0,
            gap_angle_deg=(ring.gap.angle_deg or 0.0) if ring.gap else 0.0,
            gap_width_mm=(ring.gap.width_mm or 0.0) if ring.gap else 0.0,
            shares=ring.shares,
        )
    except GeometryError:
        raise
    except CraftError as error:
        raise GeometryError("lean-too-great", str(error)) from error


def _leant(curve: Curve, slope: float, z_mm: float) -> Curve:
    """The curve sheared so that a line of this slope stands upright at its radius at `z_mm`."""
    spans = curve.spans.copy()
    spans[..., 0] += slope * (z_mm - spans[..., 1])
    return replace(curve, spans=spans)


def level_face(stave: StaveRing, *, top: bool) -> RingGeometry:
    """The flat ring that the staves' section is at the top or the bottom."""
    big = stave.big_end
    if top == (stave.lean_deg >= 0):
        return big
    shift = stave.height_mm * math.tan(math.radians(abs(stave.lean_deg)))
    inside = max(0.0, big.inside_radius_mm - shift)
    return flat_ring(
        len(big.segments),
        big.outside_radius_mm - shift,
        inside,
        spacer_mm=big.spacer_mm,
        gap_angle_deg=big.gap_angle_deg,
        gap_width_mm=big.gap_width_mm,
        shares=[shape.half_angle_deg for shape in big.segments],
    )
