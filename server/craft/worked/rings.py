"""Each ring of a part with its slab of the profile and the geometry that is cut for it."""

import math
from functools import lru_cache

from server.craft.document.part import Part
from server.craft.document.piece import Piece
from server.craft.document.ring import Ring
from server.craft.document.shop import Allowance
from server.craft.errors import GeometryError
from server.craft.form.curves import Curve
from server.craft.form.slabs import SlabRadii
from server.craft.records import record
from server.craft.rings.discs import least_plug_mm, refuse_wide_plug
from server.craft.rings.faces import RoughFace, disc_face, ring_face
from server.craft.rings.segments import flat_ring
from server.craft.rings.shapes import RingGeometry
from server.craft.rings.staves import StaveRing
from server.craft.worked.staves import level_face, worked_stave

_HARDLY_MM = 1e-9


@record
class WorkedRing:
    """A ring with everything that follows from the profile; None where it cannot be made.

    `inside_mm` and `outside_mm` are the rough radii, with the turning allowance.
    """

    id: str
    part: str
    index: int
    ring: Ring
    woods: tuple[str, ...]
    z_bottom_mm: float
    z_top_mm: float
    slab: SlabRadii
    outside_mm: float | None
    inside_mm: float
    flat: RingGeometry | None
    stave: StaveRing | None
    fault: GeometryError | None

    @property
    def is_made(self) -> bool:
        """Whether the ring can be made at all."""
        return self.outside_mm is not None and self.fault is None

    @property
    def half_angle_deg(self) -> float:
        """180° divided by the segments."""
        return 180.0 / self.ring.segments

    @property
    def finished_outside_mm(self) -> float | None:
        """Greatest radius of the finished form in the ring's slab."""
        return self.slab.outside_mm if self.is_made else None

    @property
    def finished_inside_mm(self) -> float | None:
        """Least inside radius of the finished form in the slab; 0 where solid."""
        return self.slab.inside_mm if self.is_made else None

    @property
    def needed_width_mm(self) -> float | None:
        """The widest board that the ring needs; None for discs and what cannot be made."""
        made = self.flat or self.stave
        return made.board_width_mm if made else None

    @property
    def corner_radius_mm(self) -> float | None:
        """How far the rough ring reaches from the axis."""
        made = self.flat or self.stave
        if made is not None:
            return made.corner_radius_mm
        return self.outside_mm if self.is_made else None

    @property
    def hole_radius_mm(self) -> float:
        """Radius of the round that the open centre reaches to; 0 where solid or plugged."""
        hole = self._open_radius_mm
        plug = self.ring.plug
        plugged = plug is not None and plug.diameter_mm >= 2 * hole - _HARDLY_MM
        return 0.0 if plugged or hole <= _HARDLY_MM else hole

    @property
    def _open_radius_mm(self) -> float:
        if self.flat is None or self.outside_mm is None:
            return self.inside_mm
        needed = least_plug_mm(self.flat) / 2
        width = self.ring.board_width_mm or self.flat.board_width_mm
        apothem = max(0.0, self.outside_mm - width)
        return max(apothem / math.cos(math.radians(self.half_angle_deg)), needed)

    def face(self, *, top: bool) -> RoughFace | None:
        """The rough face that is glued, at the top or the bottom of the ring."""
        plug = self.ring.plug.diameter_mm if self.ring.plug else 0.0
        if self.flat is not None:
            return ring_face(self.flat, self.ring.phase, plug)
        if self.stave is not None:
            return ring_face(level_face(self.stave, top=top), self.ring.phase, plug)
        if self.is_made and self.outside_mm is not None:
            return disc_face(self.outside_mm, self.inside_mm)
        return None


def ring_woods(ring: Ring, part: Part) -> tuple[str, ...]:
    """The wood of each segment in turn."""
    pattern = ring.woods or (part.own_wood,)
    return (pattern * -(-ring.segments // len(pattern)))[: ring.segments]


def work_ring(
    piece: Piece,
    part: Part,
    index: int,
    curves: tuple[Curve, Curve | None],
    planes: tuple[float, float],
    slab: SlabRadii,
    breach_mm: float | None = None,
) -> WorkedRing:
    """Work one ring out; what cannot be made stays None with the reason in `fault`.

    `breach_mm` is the wall, less than nothing, where the inside breaks through in this ring.
    """
    ring = part.rings[index]
    outside, inside = rough_radii(slab, piece.allowance)
    flat = stave = fault = None
    try:
        _refuse_inside_out(slab, breach_mm)
        if ring.plug is not None and outside is not None:
            refuse_wide_plug(ring.plug.diameter_mm, outside)
        if ring.kind == "flat" and outside is not None:
            flat = _flat(ring, outside, inside)
        elif ring.kind == "stave" and outside is not None:
            stave = worked_stave(ring, *curves, planes, slab, piece.allowance)
    except GeometryError as error:
        fault = error
    return WorkedRing(
        id=ring.id,
        part=part.id,
        index=index,
        ring=ring,
        woods=ring_woods(ring, part),
        z_bottom_mm=planes[0],
        z_top_mm=planes[1],
        slab=slab,
        outside_mm=outside,
        inside_mm=inside,
        flat=flat,
        stave=stave,
        fault=fault,
    )


def rough_radii(slab: SlabRadii, allowance: Allowance) -> tuple[float | None, float]:
    """Rough outside and inside radius; 0 inside where the ring is solid or closes up.

    The outside is None where the form does not reach the ring at all.
    """
    outside = None if slab.outside_mm is None else slab.outside_mm + allowance.outside_mm
    if slab.inside_mm <= 0:
        return outside, 0.0
    return outside, max(0.0, slab.inside_mm - allowance.inside_mm)


def _refuse_inside_out(slab: SlabRadii, breach_mm: float | None) -> None:
    wall = breach_mm
    if slab.outside_mm is not None and slab.inside_mm > slab.outside_mm:
        wall = min(breach_mm or 0.0, slab.outside_mm - slab.inside_mm)
    if wall is not None:
        raise GeometryError(
            "inside-outside", "The inside lies outside of the outside here.", wall, 0.0, "mm"
        )


def _flat(ring: Ring, outside: float, inside: float) -> RingGeometry:
    gap = ring.gap
    return _kept_flat_ring(
        ring.segments,
        outside,
        inside,
        spacer_mm=ring.spacer.thickness_mm if ring.spacer else 0.0,
        gap_angle_deg=(gap.angle_deg or 0.0) if gap else 0.0,
        gap_width_mm=(gap.width_mm or 0.0) if gap else 0.0,
        shares=ring.shares,
    )


# The next plan is mostly of the same piece with one thing changed.
_kept_flat_ring = lru_cache(maxsize=4096)(flat_ring)
