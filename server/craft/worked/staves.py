"""A stave ring from its slab of the profile: its straight board must hold the whole wall."""

from server.craft.document.ring import Ring
from server.craft.document.shop import Allowance
from server.craft.errors import CraftError, GeometryError
from server.craft.form.curves import Curve
from server.craft.form.leaning import leaning_extremes
from server.craft.form.slabs import SlabRadii
from server.craft.rings.shapes import RingGeometry
from server.craft.rings.staves import StaveRing, small_end, stave_ring


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
    big_end = high if ring.lean_deg >= 0 else low
    rough = leaning_extremes(outside, low, high, ring.lean_deg, big_end)
    big_outside = (rough[1] if rough else 0.0) + allowance.outside_mm
    big_inside = 0.0
    if slab.inside_mm > 0 and inside is not None:
        hollow = leaning_extremes(inside, low, high, ring.lean_deg, big_end)
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


def level_face(stave: StaveRing, *, top: bool) -> RingGeometry:
    """The flat ring that the staves' section is at the top or the bottom."""
    return stave.big_end if top == (stave.lean_deg >= 0) else small_end(stave)
