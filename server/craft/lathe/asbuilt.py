"""As built: the stack's measured height re-slabs the rings that are left, and says what changed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.craft.document.assembly import Stack
from server.craft.errors import FieldError
from server.craft.form.slabs import ring_radii
from server.craft.worked.piece import WorkedPart, WorkedPiece
from server.craft.worked.rings import WorkedRing, work_ring

STACK_HEIGHT = "stack_height"
"""What is measured on each ring: from the waste block's face to the ring's open face."""

SAME_MM = 0.01


@dataclass(frozen=True, slots=True)
class RingChange:
    """A ring that is still to be cut, as drawn and as the stack now asks for it (mm).

    A width or radius is None where the ring cannot be made there.
    """

    ring: str
    drawn: WorkedRing
    now: WorkedRing

    @property
    def shift_mm(self) -> float:
        """How far the ring has moved up the form."""
        return self.now.z_bottom_mm - self.drawn.z_bottom_mm

    @property
    def wider_mm(self) -> float | None:
        """How much wider its board must be."""
        before, after = self.drawn.needed_width_mm, self.now.needed_width_mm
        return None if before is None or after is None else after - before


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """A stack as it stands. `over_mm` is how much higher than drawn, at the last ring measured.

    `changes` are the rings that are left and come out different, in gluing order; `short_mm` is
    how much the stack will end below (above: negative) where the drawing ends.
    """

    stack: str
    over_mm: float
    changes: tuple[RingChange, ...]
    short_mm: float


def as_built(work: WorkedPiece, stack: Stack, heights_mm: Mapping[str, float]) -> AsBuilt | None:
    """Work out the rings that are left from stack heights measured on the rings that are on.

    `heights_mm` is by ring, from the waste block's face to that ring's open face. None when no
    ring of the stack was measured. Raises `FieldError` (path: the ring) for a height that is not
    above the ring before it.
    """
    measured = [ring for ring in stack.rings if ring in heights_mm]
    if not measured:
        return None
    part = work.by_part[stack.part]
    drawn = [work.by_ring[ring] for ring in stack.rings]
    tops = _heights(stack, drawn, heights_mm)
    last = stack.rings.index(measured[-1])
    over = tops[last] - sum(ring.ring.thickness_mm for ring in drawn[: last + 1])
    left = [ring for ring in drawn[last + 1 :] if ring.part == part.id]
    changes = tuple(
        change
        for ring, now in zip(left, _again(work, part, stack, left, over), strict=True)
        if (change := RingChange(ring.id, ring, now)) and _differs(change)
    )
    return AsBuilt(stack.id, over, changes, -over)


def _heights(
    stack: Stack, drawn: Sequence[WorkedRing], heights_mm: Mapping[str, float]
) -> list[float]:
    """The stack's height after each ring: measured, or drawn from the last measured one on."""
    tops: list[float] = []
    for name, ring in zip(stack.rings, drawn, strict=True):
        before = tops[-1] if tops else 0.0
        height = heights_mm.get(name, before + ring.ring.thickness_mm)
        if height <= before:
            raise FieldError(name, "This height is not above the ring before it. Measure again.")
        tops.append(height)
    return tops


def _again(
    work: WorkedPiece, part: WorkedPart, stack: Stack, left: Sequence[WorkedRing], over: float
) -> list[WorkedRing]:
    """The rings that are left, each in the slab where it will really lie."""
    shift = over if stack.mounted == "bottom" else -over
    found = []
    for ring in left:
        planes = (ring.z_bottom_mm + shift, ring.z_top_mm + shift)
        (slab,) = ring_radii(part.outside, part.inside, part.floor_mm, planes)
        curves = (part.outside, part.inside)
        found.append(work_ring(work.piece, part.part, ring.index, curves, planes, slab))
    return found


def _differs(change: RingChange) -> bool:
    pairs = [
        (change.drawn.finished_outside_mm, change.now.finished_outside_mm),
        (change.drawn.finished_inside_mm, change.now.finished_inside_mm),
        (change.drawn.needed_width_mm, change.now.needed_width_mm),
    ]
    return any(
        (a is None) != (b is None) or (a is not None and b is not None and abs(a - b) > SAME_MM)
        for a, b in pairs
    )
