"""The bodies that a part is turned from, its stacks or one solid, and the joints at its ends."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from server.craft.document.assembly import Joint, Stack
from server.craft.lathe.holds import Hold, Way, steady_on_block
from server.craft.worked.piece import WorkedPart, WorkedPiece
from server.craft.worked.rings import WorkedRing

End = Literal["top", "bottom"]
OTHER: dict[str, End] = {"top": "bottom", "bottom": "top"}


@dataclass(frozen=True, slots=True)
class Body:
    """A stack on its faceplate, or a solid on its waste block; rings in gluing order."""

    id: str
    title: str
    rings: tuple[WorkedRing, ...]
    mounted: End
    stack: Stack | None
    low_mm: float
    high_mm: float
    solid_hollow: bool = False

    @property
    def open_end(self) -> End:
        """The end away from the faceplate."""
        return OTHER[self.mounted]

    @property
    def hollow(self) -> bool:
        """Whether there is an inside to turn in it."""
        return self.solid_hollow or any(_open(ring) for ring in self.rings)

    @property
    def closing(self) -> tuple[str, ...]:
        """Rings glued on last that close the hollow: it must be turned before they are on."""
        last = max((i for i, ring in enumerate(self.rings) if _open(ring)), default=None)
        return () if last is None else tuple(ring.id for ring in self.rings[last + 1 :])

    @property
    def ring_ids(self) -> tuple[str, ...]:
        """The rings, in gluing order."""
        return tuple(ring.id for ring in self.rings)

    def on_faceplate(self, *, tailstock: bool, hollowing: bool = False) -> Hold:
        """The hold on its own waste block; hollowing far out takes a steady."""
        block = self.stack.waste_block if self.stack else None
        size = block.diameter_mm if block else None
        out = self.high_mm - self.low_mm + (block.thickness_mm if block else 0.0)
        return Hold(
            Way.FACEPLATE,
            tailstock=tailstock,
            steady=bool(hollowing and size and steady_on_block(out, size).needed),
            size_mm=size,
            faceplate=self.stack.faceplate if self.stack else None,
            held=self.mounted,
        )


def _open(ring: WorkedRing) -> bool:
    return (ring.finished_inside_mm or 0.0) > 0.0


def bodies_of(work: WorkedPiece, part: WorkedPart) -> tuple[Body, ...]:
    """The bodies of a part from its bottom up; one body where the drawing has no stacks."""
    stacks = [stack for stack in work.piece.stacks if stack.part == part.id and stack.rings]
    if not stacks:
        end: End = "top" if _better_by_the_top(work, part) else "bottom"
        rings = part.rings if end == "bottom" else part.rings[::-1]
        hollow = part.inside is not None and not part.rings
        return (Body(part.id, part.part.title, rings, end, None, part.z0_mm, part.z1_mm, hollow),)
    made = [_body(work, stack) for stack in stacks]
    return tuple(sorted(made, key=lambda body: body.low_mm))


def _body(work: WorkedPiece, stack: Stack) -> Body:
    rings = tuple(work.by_ring[ring] for ring in stack.rings)
    low = min(ring.z_bottom_mm for ring in rings)
    high = max(ring.z_top_mm for ring in rings)
    # A ring that cannot be made as drawn has no inside yet; where one is drawn, it will.
    unknown = work.by_part[stack.part].inside is not None and any(
        ring.finished_inside_mm is None for ring in rings
    )
    return Body(stack.id, stack.title, rings, stack.mounted, stack, low, high, unknown)


def _better_by_the_top(work: WorkedPiece, part: WorkedPart) -> bool:
    """A solid with a joint at the bottom only is held by its top, so that the end is free."""
    ends = {end for end in OTHER if joints_at(work, part.id, end)}
    return part.inside is None and ends == {"bottom"}


def joints_at(work: WorkedPiece, part: str, end: str) -> tuple[Joint, ...]:
    """The joints that have a mortise or a tenon at that end of a part."""
    return tuple(
        joint
        for joint in work.piece.joints
        for side in (joint.mortise, joint.tenon)
        if side.part == part and side.end == end
    )


def glue_surfaces(joints: Sequence[Joint], part: str) -> tuple[str, ...]:
    """Surfaces of a part that glue goes on when the parts are joined."""
    found: list[str] = []
    for joint in joints:
        kind = "mortise" if joint.mortise.part == part else "tenon"
        found += [f"{kind}:{joint.id}", f"shoulder:{joint.id}:{part}"]
    return tuple(found)
