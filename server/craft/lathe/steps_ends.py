"""What is done at one end of a part: mortises bored and measured, tenons turned to measure."""

from server.craft.document.assembly import Joint
from server.craft.lathe.joints import MORTISE, MOST_RUN_OUT_MM, RUN_OUT
from server.craft.lathe.steps import Measured, Work
from server.craft.lathe.steps_bodies import End, joints_at
from server.craft.lathe.steps_chain import Chain
from server.craft.ledger import Kind
from server.craft.worked.piece import WorkedPiece

KEEP_CLEAN = " Keep finish off mortises, tenons and the shoulders round them: glue goes there."


def end_steps(
    work: WorkedPiece, chain: Chain, part: str, end: End, *, set_again: bool = False
) -> None:
    """Bore and turn the joints of a free end, in the hold that the chain has.

    `set_again`: it came off its faceplate and was turned round, so that it has to be seen to run
    true before it is bored.
    """
    for joint in joints_at(work, part, end):
        if joint.mortise.part == part:
            bore(chain, joint, end, true=_run_out(chain) if set_again else None)
        else:
            tenon(chain, joint, end)


def _run_out(chain: Chain) -> Measured:
    """Measure how true it runs in its new hold, once; what a bore there waits for."""
    subject = f"{chain.prefix}:{Work.MEASURE.value}:run-out"
    if all(step.id != subject for step in chain.steps):
        chain.add(
            Work.MEASURE,
            "Measure how true it runs",
            "A dial or a pointer close to the edge where the mortise comes, turned by hand once "
            "round. Tap it true, tighten, measure again.",
            name="run-out",
            ticked=Kind.MEASURED,
            quantity=RUN_OUT,
        )
    return Measured(subject, RUN_OUT, MOST_RUN_OUT_MM)


def bore(chain: Chain, joint: Joint, end: End, true: Measured | None = None) -> None:
    """Bore a mortise in the present hold, the drill in the tailstock, and measure it.

    `true` is the reading that a hold which was set again waits for.
    """
    was = chain.hold.tailstock if chain.hold else False
    chain.held(tailstock=False)
    chain.add(
        Work.BORE,
        f"Bore the mortise in the {end}",
        "It must still run true: check with a light touch of the drill. Bore to the depth shown.",
        name=joint.id,
        joint=joint.id,
        needs=() if true is None else (true,),
        works=(f"mortise:{joint.id}", f"shoulder:{joint.id}:{chain.part}"),
        ticked=Kind.BORED,
        subject=joint.id,
    )
    chain.add(
        Work.MEASURE,
        "Measure the mortise",
        "Across it, twice, a quarter turn apart. The tenon is turned to this number.",
        name=joint.id,
        joint=joint.id,
        ticked=Kind.MEASURED,
        subject=joint.id,
        quantity=MORTISE,
    )
    chain.held(tailstock=was)


def tenon(chain: Chain, joint: Joint, end: End) -> None:
    """Turn a tenon to the mortise as it was measured."""
    chain.add(
        Work.TENON,
        f"Turn the tenon at the {end}",
        "To the size shown, with the shoulder square or a little hollow. Try the mortise on it.",
        name=joint.id,
        joint=joint.id,
        needs=(Measured(joint.id, MORTISE),),
        works=(f"tenon:{joint.id}", f"shoulder:{joint.id}:{chain.part}"),
    )
