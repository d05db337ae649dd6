"""Steps for a part made of rings, or of one solid on a waste block: turned, joined, reversed."""

from dataclasses import dataclass, replace

from server.craft.lathe.gauges import telling_heights
from server.craft.lathe.holds import Hold, Way, recess_hold
from server.craft.lathe.holds_reverse import reverse_hold
from server.craft.lathe.steps import Cured, LatheShop, Step, Work
from server.craft.lathe.steps_bodies import (
    OTHER,
    Body,
    End,
    bodies_of,
    glue_surfaces,
    joints_at,
)
from server.craft.lathe.steps_chain import Chain
from server.craft.lathe.steps_ends import KEEP_CLEAN, end_steps
from server.craft.worked.piece import WorkedPart, WorkedPiece


def ringed_steps(work: WorkedPiece, part: WorkedPart, shop: LatheShop) -> list[Step]:
    """All steps of a part from its cured stacks to its finished ends."""
    return _Maker(work, part, shop).steps()


_FOOT = ("Turn the foot", "A little hollow, so that it stands on its rim.")
_SHOULDER = (
    "Turn the shoulder at the bottom",
    "Square, or a hair hollow, so that the joint closes all round its edge.",
)
_FITTED = {Way.RING_CLAMP, Way.GLUED_GROOVE, Way.JAM_CHUCK}


@dataclass(slots=True)
class _Held:
    """A chain of steps, and the body on whose faceplate each end still is."""

    chain: Chain
    ends: dict[End, Body]


class _Maker:
    def __init__(self, work: WorkedPiece, part: WorkedPart, shop: LatheShop) -> None:
        self.work, self.part, self.shop = work, part, shop
        self.bodies = bodies_of(work, part)
        self.several = len(self.bodies) > 1
        self.hollow = any(body.hollow for body in self.bodies)
        self.done: list[Step] = []
        joints = joints_at(work, part.id, "top") + joints_at(work, part.id, "bottom")
        self.glued = glue_surfaces(joints, part.id)

    def steps(self) -> list[Step]:
        held = self._body(0)
        for index in range(1, len(self.bodies)):
            held = self._joined(held, index)
        self._through(held)
        return [*self.done, *held.chain.steps]

    # Each body alone

    def _body(self, index: int) -> _Held:
        body = self.bodies[index]
        chain = Chain(
            self.part.id, f"{self.part.id}:{body.id}", body.stack.id if body.stack else None
        )
        chain.hold = body.on_faceplate(tailstock=True)
        first = tuple(ring for ring in body.ring_ids if ring not in body.closing)
        chain.add(
            Work.ROUGH,
            f"Rough {body.title} round" if self.several else "Rough it round",
            "Light cuts until the corners are gone, then stop and look at every glue joint.",
            needs=self._cured(body, first),
            works=(f"rough:{body.id}",),
        )
        early = body.hollow and (self.several or body.mounted == "top")
        if early:
            self._inside_while_open(chain, body)
        if body.closing:
            self._close(chain, body)
        if self._joins(index, body.open_end):
            self._face(chain, body, body.open_end)
        return _Held(chain, {body.mounted: body})

    def _cured(self, body: Body, rings: tuple[str, ...]) -> tuple[Cured, ...]:
        if not body.rings:
            return ()
        return (Cured(body.id, rings, self.shop.cure(body.id)),)

    def _inside_while_open(self, chain: Chain, body: Body) -> None:
        chain.hold = body.on_faceplate(tailstock=False, hollowing=True)
        chain.add(
            Work.INSIDE,
            f"Turn the inside of {body.title} while it is open",
            "To the curve, as far as the tool sees. Leave the glue face and its edge as they are.",
            works=(f"inside:{body.id}",),
            heights_mm=telling_heights(self.part, body.low_mm, body.high_mm),
            holds_back=body.closing,
        )

    def _close(self, chain: Chain, body: Body) -> None:
        self._face(chain, body, body.open_end, name="close", holds_back=body.closing)
        chain.hold = body.on_faceplate(tailstock=True)
        chain.add(
            Work.ROUGH,
            "Rough the closing rings round",
            "Light cuts until the corners are gone.",
            name="closed",
            needs=self._cured(body, body.ring_ids),
            works=(f"rough-closing:{body.id}",),
        )

    def _joins(self, index: int, end: End) -> bool:
        return index + 1 < len(self.bodies) if end == "top" else index > 0

    def _face(
        self,
        chain: Chain,
        body: Body,
        end: End,
        name: str = "",
        holds_back: tuple[str, ...] = (),
    ) -> None:
        chain.held(tailstock=False)
        chain.add(
            Work.FACE,
            f"True the {end} face of {body.title}",
            "Flat across, or a hair hollow: hold a straightedge to it. No finish and no wax here.",
            name=name or end,
            works=(f"face:{body.id}:{end}{':close' if name else ''}",),
            clean=(f"face:{body.id}:{end}",),
            holds_back=holds_back,
        )

    # Bodies joined

    def _joined(self, lower: _Held, index: int) -> _Held:
        upper = self._body(index)
        below, above = self.bodies[index - 1], self.bodies[index]
        self._free(lower, below, "top")
        self._free(upper, above, "bottom")
        self.done += [*lower.chain.steps, *upper.chain.steps]
        pair = f"{below.id}+{above.id}"
        tail = (*lower.chain.tail, *upper.chain.tail)
        chain = Chain(self.part.id, f"{self.part.id}:{pair}", tail=tail)
        chain.hold = lower.ends["bottom"].on_faceplate(tailstock=True)
        join = chain.add(
            Work.JOIN,
            f"Glue {below.title} and {above.title} together",
            "Dry first, marks in line. Glue on both faces, pressed by the tailstock.",
        )
        hours = max(self.shop.cure(below.id), self.shop.cure(above.id))
        chain.add(
            Work.TRUE_JOINT,
            "True the joint",
            "Between both faceplates, light cuts until the joint runs true.",
            needs=(Cured(join.id, (), hours),),
            works=(f"joint:{pair}",),
        )
        return _Held(chain, {"bottom": lower.ends["bottom"], "top": upper.ends["top"]})

    def _free(self, held: _Held, body: Body, end: End) -> None:
        """Have that end free and true, the other on a faceplate."""
        if end not in held.ends:
            return
        chain, other = held.chain, OTHER[end]
        if other not in held.ends:
            held.ends[other] = self._remount(chain, body, other)
        keeper = held.ends[other]
        chain.hold = keeper.on_faceplate(tailstock=True)
        self._part_off(chain, end)
        del held.ends[end]
        self._face(chain, body, end)

    def _remount(self, chain: Chain, body: Body, end: End) -> Body:
        chain.held(tailstock=False)
        mount = chain.add(
            Work.MOUNT,
            f"Glue a waste block to the {end} of {body.title}",
            "A true block on a true face, centred, so that the other end can come off.",
            name=body.id,
        )
        chain.add(
            Work.ROUGH,
            "Check that it runs true on the new block",
            "Change it round on the lathe, turn by hand, then a light cut.",
            name="again",
            needs=(Cured(mount.id, (), self.shop.cure(body.id)),),
        )
        return replace(body, mounted=end, stack=None)

    # The part as one

    def _through(self, held: _Held) -> None:
        chain = held.chain
        outside = len(held.ends) == 2
        if outside:
            self._outside(chain)
            self._part_off(chain, off := self._first_off())
            del held.ends[off]
        (kept,) = held.ends
        chain.hold = held.ends[kept].on_faceplate(tailstock=True)
        if not outside:
            self._outside(chain)
        self._free_end(chain, held.ends[kept], OTHER[kept])
        self._ready(chain, kept)
        self._part_off(chain, kept)
        self._reversed(chain, kept)

    def _first_off(self) -> End:
        """Which of two faceplates goes first: the mouth's, or the one where a joint is."""
        if self.hollow or joints_at(self.work, self.part.id, "top"):
            return "top"
        return "bottom" if joints_at(self.work, self.part.id, "bottom") else "top"

    def _outside(self, chain: Chain) -> None:
        chain.add(
            Work.OUTSIDE,
            "Outside to the curve",
            "Leave it stout near the waste block until the rest is done.",
            works=(f"outside:{self.part.id}",),
            heights_mm=telling_heights(self.part),
        )

    def _free_end(self, chain: Chain, body: Body, end: End) -> None:
        """Everything that the present firm hold leaves open, before parting off."""
        if end == "top" and self.hollow:
            chain.held(tailstock=False)
            self._rim(chain)
            self._inside(chain, body)
        elif end == "bottom":
            self._bottom(chain, finish=False)
        end_steps(self.work, chain, self.part.id, end)
        if end == "top" and self.hollow:
            self._finish_inside(chain)
        self._finish_outside(chain)
        self._finish_end(chain, end)

    def _rim(self, chain: Chain) -> None:
        chain.add(
            Work.RIM,
            "True the rim",
            "Light cuts with the wall still thick behind it.",
            works=(f"end:{self.part.id}:top",),
        )

    def _inside(self, chain: Chain, body: Body) -> None:
        chain.hold = body.on_faceplate(tailstock=False, hollowing=True)
        chain.add(
            Work.INSIDE,
            "Finish the inside through the mouth" if self.several else "Hollow the inside",
            "From the rim down, wall first, then the floor. Stop at the depth shown.",
            works=(f"inside:{self.part.id}",),
            heights_mm=telling_heights(self.part),
        )

    def _finish_inside(self, chain: Chain) -> None:
        chain.add(
            Work.FINISH_INSIDE,
            "Sand and seal inside",
            "While it is still held true, before parting off." + KEEP_CLEAN,
            finishes=(f"inside-finish:{self.part.id}",),
            clean=self.glued,
        )

    def _finish_outside(self, chain: Chain) -> None:
        chain.add(
            Work.FINISH_OUTSIDE,
            "Sand and finish the outside",
            "Through the grits, joints looked over, then finish." + KEEP_CLEAN,
            finishes=(f"outside-finish:{self.part.id}",),
            clean=self.glued,
        )

    def _bottom(self, chain: Chain, *, finish: bool) -> None:
        joined = joints_at(self.work, self.part.id, "bottom")
        title, words = _SHOULDER if joined else _FOOT
        chain.add(
            Work.BOTTOM,
            title,
            f"{words} Mind how much floor is left.",
            works=(f"end:{self.part.id}:bottom",),
        )
        if finish:
            self._finish_end(chain, "bottom")

    def _finish_end(self, chain: Chain, end: End) -> None:
        chain.add(
            Work.FINISH_END,
            f"Sand and finish the {end}",
            "Sign later, when all is together." + KEEP_CLEAN,
            name=end,
            finishes=(f"end-finish:{self.part.id}:{end}",),
            clean=self.glued,
        )

    def _part_off(self, chain: Chain, end: End) -> None:
        chain.add(
            Work.PART_OFF,
            f"Part off at the {end}",
            "Leave a neck, stop the lathe, saw the rest. Catch nothing that is still turning.",
            name=end,
            works=(f"off:{chain.prefix}:{end}",),
        )

    def _ready(self, chain: Chain, end: End) -> None:
        """Have what will hold it before it comes off: then it can still be tried on."""
        now, chain.hold = chain.hold, self._reverse_hold(end)
        if chain.hold.way not in _FITTED:
            chain.hold = now
            return
        chain.add(
            Work.READY,
            "Make the hold for turning it round",
            "To the size shown, and try it on while the work still runs true: "
            "nothing comes off before what will hold it is there.",
        )
        chain.hold = now

    def _reversed(self, chain: Chain, end: End) -> None:
        """Turned round: the end that was on the faceplate."""
        chain.hold = self._reverse_hold(end)
        chain.add(
            Work.REVERSE,
            "Turn it round",
            "Into the hold shown; turn by hand and look that the rim runs true before anything.",
        )
        end_steps(self.work, chain, self.part.id, end, set_again=True)
        if end == "bottom":
            self._bottom(chain, finish=True)
            return
        self._rim(chain)
        if self.hollow:
            self._finish_inside(chain)
        self._finish_end(chain, "top")

    def _reverse_hold(self, end: End) -> Hold:
        joints = bool(joints_at(self.work, self.part.id, end))
        if end == "bottom":
            bored = [
                joint.mortise_diameter_mm
                for joint in joints_at(self.work, self.part.id, "top")
                if joint.mortise.part == self.part.id
            ]
            mortise = bored[0] if bored else None
            hold = reverse_hold(self.part, self.shop.jaws, bores=joints, mortise_mm=mortise)
            return replace(hold, held="top")
        taken = joints_at(self.work, self.part.id, "bottom")
        recess = None if taken else recess_hold(self.part, self.shop.jaws)
        foot = self.part.outside.radii_at(self.part.z0_mm)
        size = 2 * foot[-1] if foot else None
        return recess or Hold(Way.GLUED_GROOVE, size_mm=size, at_mm=self.part.z0_mm)
