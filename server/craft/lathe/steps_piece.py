"""The lathe's front door: all steps of a piece, its parts, then dry fit, assembly, signature."""

from collections.abc import Mapping, Sequence

from server.craft.glue.adhesives import Glue
from server.craft.glue.timing import times
from server.craft.lathe.steps import SIGNED, Caution, Cured, LatheShop, Step, Work
from server.craft.lathe.steps_ringed import ringed_steps
from server.craft.lathe.steps_spindle import spindle_steps
from server.craft.worked.piece import WorkedPiece

_SHAPED = {Work.OUTSIDE, Work.INSIDE, Work.RIM}


def lathe_steps(work: WorkedPiece, shop: LatheShop | None = None) -> tuple[Step, ...]:
    """Every step of the piece, each after all that must come before it."""
    shop = shop or LatheShop()
    bodies = [part for part in work.parts if part.part.kind != "spindle"]
    spindles = [part for part in work.parts if part.part.kind == "spindle"]
    steps = [step for part in bodies for step in ringed_steps(work, part, shop)]
    for part in spindles:
        steps += spindle_steps(work, part, shop, _beside(work, part.id, steps))
    return tuple(steps + _together(work, shop, steps))


def cure_hours(
    work: WorkedPiece, glues: Mapping[str, Glue], temperature_c: float
) -> dict[str, float]:
    """Cure of each stack by its glue and the room; stacks without a known glue are left out."""
    return {
        stack.id: times(glues[stack.glue], temperature_c).cure_hours
        for stack in work.piece.stacks
        if stack.glue in glues and stack.glue is not None
    }


def _beside(work: WorkedPiece, part: str, steps: Sequence[Step]) -> tuple[str, ...]:
    """The last shaping step of each turned part that a joint puts against this one."""
    near = {
        other.part
        for joint in work.piece.joints
        for one, other in ((joint.tenon, joint.mortise), (joint.mortise, joint.tenon))
        if one.part == part
    }
    last = {step.part: step.id for step in steps if step.work in _SHAPED and step.part in near}
    return tuple(last.values())


def _together(work: WorkedPiece, shop: LatheShop, steps: Sequence[Step]) -> list[Step]:
    """Dry fit, glue, sign; a piece of one part is only signed."""
    ends = _ends(steps)
    if not work.piece.joints:
        return [_sign(ends, ())]
    fit = Step(
        id="piece:dry-fit",
        work=Work.DRY_FIT,
        title="Put all together dry",
        words="Every shoulder closed, all upright, seen from every side. Mark how they stand.",
        after=ends,
        subject="piece:dry-fit",
    )
    last, glued = fit.id, []
    for joint in work.piece.joints:
        step = Step(
            id=f"piece:assemble:{joint.id}",
            work=Work.ASSEMBLE,
            title=f"Glue {_name(work, joint.tenon.part)} into {_name(work, joint.mortise.part)}",
            words="Glue in the mortise, little on the tenon. Square, marks in line, weight on it.",
            joint=joint.id,
            after=(last,),
            subject=f"piece:assemble:{joint.id}",
        )
        glued.append(step)
        last = step.id
    longest = max(shop.cure_hours.values(), default=shop.cure(None))
    cured = tuple(Cured(step.id, (), longest) for step in glued)
    return [fit, *glued, _sign((last,), cured)]


def _sign(after: tuple[str, ...], needs: tuple[Cured, ...]) -> Step:
    return Step(
        id=SIGNED,
        work=Work.SIGN,
        title="Sign it",
        words="Name, year, woods. A last look all over; into the journal what is worth keeping.",
        cautions=(Caution.FOOD,),
        after=after,
        needs=needs,
        subject=SIGNED,
    )


def _ends(steps: Sequence[Step]) -> tuple[str, ...]:
    """Steps that no other comes after."""
    followed = {before for step in steps for before in step.after}
    return tuple(step.id for step in steps if step.id not in followed)


def _name(work: WorkedPiece, part: str) -> str:
    return work.by_part[part].part.title
