"""Steps for a spindle: roughed between centres, bored in the chuck, tenons to measure, finished."""

from dataclasses import replace

from server.craft.lathe.gauges import telling_heights
from server.craft.lathe.holds import Hold, Way, steady_between_centres, tenon_hold
from server.craft.lathe.steps import LatheShop, Step, Work
from server.craft.lathe.steps_bodies import End, glue_surfaces, joints_at
from server.craft.lathe.steps_chain import Chain
from server.craft.lathe.steps_ends import KEEP_CLEAN, bore, tenon
from server.craft.worked.piece import WorkedPart, WorkedPiece


def spindle_steps(
    work: WorkedPiece, part: WorkedPart, shop: LatheShop, size_after: tuple[str, ...]
) -> list[Step]:
    """All steps of a spindle; its length is settled after the steps of `size_after`."""
    chain = Chain(part.id, part.id, glued=False)
    joints = {end: joints_at(work, part.id, end) for end in _ENDS}
    _rough(chain, part)
    for end in _ENDS:
        _bored(chain, work, part, shop, end)
    if any(joints.values()):
        chain.hold = None
        _size(chain, size_after)
    chain.hold = _centres(part)
    for end in _ENDS:
        for joint in joints[end]:
            if joint.tenon.part == part.id:
                tenon(chain, joint, end)
    _profile(chain, part, glue_surfaces(joints["bottom"] + joints["top"], part.id))
    return chain.steps


_ENDS: tuple[End, End] = ("bottom", "top")


def _centres(part: WorkedPart) -> Hold:
    thinnest = part.outside.radius_extremes(part.z0_mm, part.z1_mm)
    least = 2 * thinnest[0] if thinnest else 0.0
    slender = steady_between_centres(part.height_mm, least).needed
    return Hold(Way.BETWEEN_CENTRES, tailstock=True, steady=slender)


def _rough(chain: Chain, part: WorkedPart) -> None:
    chain.hold = Hold(Way.BETWEEN_CENTRES, tailstock=True)
    chain.add(
        Work.ROUGH,
        "Rough the blank round",
        "Centres marked by crossing lines, tailstock firm. Leave it over size.",
        works=(f"rough:{part.id}",),
    )


def _bored(chain: Chain, work: WorkedPiece, part: WorkedPart, shop: LatheShop, end: End) -> None:
    """Mortises while the blank is stout, in the chuck, the drill in the tailstock."""
    mortises = [j for j in joints_at(work, part.id, end) if j.mortise.part == part.id]
    if not mortises:
        return
    greatest = 2 * part.outside.bounds[2]
    held = "top" if end == "bottom" else "bottom"
    chain.hold = replace(tenon_hold(greatest, greatest, shop.jaws), held=held)
    for joint in mortises:
        bore(chain, joint, end)


def _size(chain: Chain, size_after: tuple[str, ...]) -> None:
    chain.add(
        Work.SIZE,
        "Settle the length",
        "Stand the parts it joins together and look. Measure both, then cut the blank, with wood "
        "to spare at each end for the centres and the parting.",
        also_after=size_after,
    )


def _profile(chain: Chain, part: WorkedPart, glued: tuple[str, ...]) -> None:
    chain.add(
        Work.OUTSIDE,
        "Turn the profile",
        "Thick end first, the middle last. A slender stem: steady behind it, light cuts.",
        works=(f"outside:{part.id}",),
        heights_mm=telling_heights(part),
    )
    chain.add(
        Work.FINISH_OUTSIDE,
        "Sand and finish",
        "Through the grits, then finish." + KEEP_CLEAN,
        finishes=(f"outside-finish:{part.id}",),
        clean=glued,
    )
    chain.add(
        Work.PART_OFF,
        "Part off both ends",
        "Down to small necks, stop the lathe, saw them. Pare the ends clean.",
        works=(f"off:{part.id}",),
    )
