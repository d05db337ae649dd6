"""Several rings at once: what the form says is set on all, what it leaves open stays as it is."""

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import Any

from server.craft.errors import CraftError
from server.rooms.drawing_board import edits
from server.rooms.drawing_board.edits import Document
from server.rooms.drawing_board.ring_form import set_joints
from server.web.fields import Fields

MOST_WOODS = 4
"""How many woods in turn the form offers."""


def ticked(document: Document, fields: Fields) -> list[str]:
    """The ids of the ticked rings, part by part from below. Raises CraftError for none."""
    wanted = set(fields.all("pick"))
    found = [ring["id"] for ring in _rings(document) if ring["id"] in wanted]
    if not found:
        raise CraftError("Tick the rings in the list first.")
    return found


def _rings(document: Document) -> list[Document]:
    return [ring for part in edits.parts(document) for ring in part.get("rings", ())]


def set_rings(
    document: Document, names: Sequence[str], fields: Fields, woods: Sequence[str]
) -> None:
    """Thickness, segments, turn, joints and woods of all of them."""
    thickness = fields.length("thickness", required=False)
    segments = fields.whole("segments", low=3, high=360, required=False)
    pattern = [wood for wood in fields.all("wood") if wood]
    if not set(pattern) <= set(woods):
        fields.wrong("wood", "One of these woods is not known here.")
    chosen = [edits.ring_of(document, name) for name in names]
    for ring in chosen:
        if thickness is not None:
            ring["thickness_mm"] = thickness
        if pattern:
            ring["woods"] = pattern
    divided = [ring for ring in chosen if ring.get("kind", "flat") in ("flat", "stave")]
    for ring in divided:
        if segments is not None:
            _divide(ring, segments)
        if fields.has("joint"):
            set_joints(ring, fields, woods)
    _turn(divided, fields)
    edits.by_hand(chosen)


def _divide(ring: Document, segments: int) -> None:
    ring["segments"] = segments
    shares = ring.get("shares")
    if shares:
        ring["shares"] = [shares[k % len(shares)] for k in range(segments)]


def _turn(rings: Sequence[Document], fields: Fields) -> None:
    """The lowest is turned to the phase, each one over it further by the step, in segments."""
    start = fields.number("phase", low=0, high=1, required=False)
    step = fields.number("step", low=-1, high=1, required=False)
    if not rings or (start is None and step is None):
        return
    first = rings[0].get("phase", 0.0) if start is None else start
    for number, ring in enumerate(rings):
        ring["phase"] = round((first + number * (step or 0.0)) % 1.0, 9) % 1.0


def split(document: Document, names: Sequence[str]) -> None:
    """Each of them becomes two of half the thickness."""
    for name in names:
        edits.split_ring(document, name)


def merge(document: Document, names: Sequence[str]) -> None:
    """Rings that lie one on another become one. Raises CraftError where none do."""
    merged = False
    for part in edits.parts(document):
        places = [k for k, ring in enumerate(part.get("rings", ())) if ring["id"] in names]
        # From above, so that the numbers of those below stay true.
        for low, high in reversed(list(pairwise(places))):
            if high == low + 1:
                edits.merge_ring(document, part["rings"][low]["id"])
                merged = True
    if not merged:
        raise CraftError("Tick at least two rings that lie one on another.")


def mirror(document: Document, names: Sequence[str]) -> None:
    """The lower half of what is ticked again on its upper half, upside down."""
    for part in edits.parts(document):
        edits.mirror([ring for ring in part.get("rings", ()) if ring["id"] in names])


def even(document: Document, names: Sequence[str]) -> None:
    """All equally thick; together they stay as high as they were."""
    for part in edits.parts(document):
        rings = [ring for ring in part.get("rings", ()) if ring["id"] in names]
        for ring, thickness in [(r, _mean(rings)) for r in rings]:
            ring["thickness_mm"] = thickness
        edits.by_hand(rings)


def _mean(rings: Sequence[Mapping[str, Any]]) -> float:
    return float(sum(ring["thickness_mm"] for ring in rings) / len(rings))


def remove(document: Document, names: Sequence[str]) -> None:
    """Take them out."""
    for name in names:
        edits.remove_ring(document, name)


WORKS: Mapping[str, Callable[[Document, Sequence[str]], None]] = {
    "rings-split": split,
    "rings-merge": merge,
    "rings-mirror": mirror,
    "rings-even": even,
    "rings-remove": remove,
}
"""What else can be done with the ticked rings, by the name of its act."""
