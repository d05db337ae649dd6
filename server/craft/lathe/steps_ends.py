"""What is done at one end of a part: mortises bored and measured, tenons turned to measure."""

from server.craft.document.assembly import Joint
from server.craft.lathe.joints import MORTISE
from server.craft.lathe.steps import Measured, Work
from server.craft.lathe.steps_bodies import End, joints_at
from server.craft.lathe.steps_chain import Chain
from server.craft.ledger import Kind
from server.craft.worked.piece import WorkedPiece

KEEP_CLEAN = " Keep finish off mortises, tenons and the shoulders round them: glue goes there."


def end_steps(work: WorkedPiece, chain: Chain, part: str, end: End) -> None:
    """Bore and turn the joints of a free end, in the hold that the chain has."""
    for joint in joints_at(work, part, end):
        if joint.mortise.part == part:
            bore(chain, joint, end)
        else:
            tenon(chain, joint, end)


def bore(chain: Chain, joint: Joint, end: End) -> None:
    """Bore a mortise in the present hold, the drill in the tailstock, and measure it."""
    was = chain.hold.tailstock if chain.hold else False
    chain.held(tailstock=False)
    chain.add(
        Work.BORE,
        f"Bore the mortise in the {end}",
        "It must still run true: check with a light touch of the drill. Bore to the depth shown.",
        name=joint.id,
        joint=joint.id,
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
