"""Building a chain of steps: ids, what each comes after, and the hold that stays until changed."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from server.craft.lathe.holds import Hold, Strength, Way
from server.craft.lathe.steps import Caution, Need, Step, Work
from server.craft.ledger import Kind

_SPINNING = {
    Work.ROUGH,
    Work.OUTSIDE,
    Work.INSIDE,
    Work.FACE,
    Work.RIM,
    Work.BORE,
    Work.TENON,
    Work.TRUE_JOINT,
    Work.PART_OFF,
    Work.REVERSE,
    Work.BOTTOM,
}
_OWN_CAUTION = {
    Work.ROUGH: (Caution.PROUD_CORNERS, Caution.GLUE_JOINTS),
    Work.INSIDE: (Caution.GLUE_JOINTS,),
    Work.TRUE_JOINT: (Caution.GLUE_JOINTS,),
    Work.BORE: (Caution.BORING,),
    Work.PART_OFF: (Caution.PARTING,),
    Work.FINISH_INSIDE: (Caution.SWITCH_ON, Caution.DUST, Caution.FINISH, Caution.FOOD),
    Work.FINISH_OUTSIDE: (Caution.SWITCH_ON, Caution.DUST, Caution.FINISH),
    Work.FINISH_END: (Caution.SWITCH_ON, Caution.DUST, Caution.FINISH),
}


def cautions_for(work: Work, hold: Hold | None, glued: bool = True) -> tuple[Caution, ...]:
    """The cautions of a kind of work in a hold, on wood that is `glued` up from pieces or solid."""
    found = [Caution.SWITCH_ON] if work in _SPINNING else []
    found += [one for one in _OWN_CAUTION.get(work, ()) if one not in found]
    if not glued and Caution.GLUE_JOINTS in found:
        found.remove(Caution.GLUE_JOINTS)
    if hold is not None and found:
        if hold.strength is Strength.LIGHT:
            found.append(Caution.LIGHT_HOLD)
        if hold.way is Way.RING_CLAMP:
            found.append(Caution.RING_CLAMP)
        if hold.steady:
            found.append(Caution.SLENDER)
    return tuple(found)


@dataclass(slots=True)
class Chain:
    """Steps one after another; `tail` is what the next one comes after."""

    part: str
    prefix: str
    stack: str | None = None
    hold: Hold | None = None
    tail: tuple[str, ...] = ()
    glued: bool = True
    steps: list[Step] = field(default_factory=list)

    def add(
        self,
        work: Work,
        title: str,
        words: str,
        *,
        name: str = "",
        joint: str | None = None,
        needs: tuple[Need, ...] = (),
        works: tuple[str, ...] = (),
        finishes: tuple[str, ...] = (),
        clean: tuple[str, ...] = (),
        heights_mm: Sequence[float] = (),
        holds_back: tuple[str, ...] = (),
        also_after: tuple[str, ...] = (),
        ticked: Kind = Kind.TURNED,
        subject: str = "",
        quantity: str | None = None,
    ) -> Step:
        """One more step at the end of the chain, in the present hold."""
        step_id = f"{self.prefix}:{work.value}" + (f":{name}" if name else "")
        step = Step(
            id=step_id,
            work=work,
            title=title,
            words=words,
            part=self.part,
            stack=self.stack,
            joint=joint,
            hold=self.hold,
            cautions=cautions_for(work, self.hold, self.glued),
            after=(*self.tail, *also_after),
            needs=needs,
            works=works,
            finishes=finishes,
            clean=clean,
            heights_mm=tuple(heights_mm),
            holds_back=holds_back,
            ticked=ticked,
            subject=subject or step_id,
            quantity=quantity,
        )
        self.steps.append(step)
        self.tail = (step_id,)
        return step

    def held(self, **changes: object) -> None:
        """Change the present hold: tailstock, steady."""
        if self.hold is not None:
            self.hold = replace(self.hold, **changes)  # type: ignore[arg-type]
