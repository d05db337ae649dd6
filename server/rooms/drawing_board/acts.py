"""Everything that can be done to a drawing from the board, by name.

An act changes the copy of a document that it is given and may say where to look next. Wrong
words go into the fields; what cannot be done raises CraftError with the reason.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from server.craft.document import parse_piece
from server.craft.errors import CraftError
from server.craft.mends import apply_mend
from server.craft.plan import plan
from server.rooms.drawing_board import edits, paint, piece_forms, propose, ring_form, several, shape
from server.rooms.drawing_board.desk import Place
from server.rooms.drawing_board.edits import Document
from server.web.fields import Fields


@dataclass(frozen=True, slots=True)
class Hands:
    """What an act works with: the fields typed, the place, and what the shop knows."""

    fields: Fields
    place: Place
    woods: tuple[str, ...]
    glues: tuple[str, ...]
    stock: Mapping[str, propose.Stock] = field(default_factory=dict)


Act = Callable[[Document, Hands], tuple[Document, Place]]


def _ring(hands: Hands) -> str:
    if not hands.place.ring:
        raise CraftError("Choose a ring first.")
    return hands.place.ring


def _part(hands: Hands) -> str:
    return hands.fields.text("of_part") or hands.place.part or ""


def _set_ring(document: Document, hands: Hands) -> tuple[Document, Place]:
    ring_form.set_ring(document, _ring(hands), hands.fields, hands.woods)
    return document, hands.place


def _set_rings(document: Document, hands: Hands) -> tuple[Document, Place]:
    names = several.ticked(document, hands.fields)
    several.set_rings(document, names, hands.fields, hands.woods)
    return document, hands.place.ticking(names)


def _several(name: str) -> Act:
    """An act on the ticked rings; those that are left stay ticked."""

    def act(document: Document, hands: Hands) -> tuple[Document, Place]:
        names = several.ticked(document, hands.fields)
        several.WORKS[name](document, names)
        left = {ring["id"] for part in document["parts"] for ring in part.get("rings", ())}
        return document, hands.place.ticking(n for n in names if n in left)

    return act


def _insert(document: Document, hands: Hands) -> tuple[Document, Place]:
    above = hands.fields.choice("where", ("above", "below")) == "above"
    made = edits.insert_ring(document, _ring(hands), above=above)
    return document, hands.place.at_ring(made)


def _split(document: Document, hands: Hands) -> tuple[Document, Place]:
    edits.split_ring(document, _ring(hands))
    return document, hands.place


def _merge(document: Document, hands: Hands) -> tuple[Document, Place]:
    edits.merge_ring(document, _ring(hands))
    return document, hands.place


def _remove(document: Document, hands: Hands) -> tuple[Document, Place]:
    ring = _ring(hands)
    part, index = edits.ring_place(document, ring)
    edits.remove_ring(document, ring)
    left = part["rings"]
    return document, hands.place.at_ring(left[min(index, len(left) - 1)]["id"] if left else None)


def _move(document: Document, hands: Hands) -> tuple[Document, Place]:
    up = hands.fields.choice("where", ("above", "below")) == "above"
    edits.move_ring(document, _ring(hands), up=up)
    return document, hands.place


def _first_ring(document: Document, hands: Hands) -> tuple[Document, Place]:
    """A ring on a part that has none; it fills the part's height up to 19 mm."""
    part = edits.part_of(document, _part(hands))
    heights = [point["z_mm"] for point in part["outside"]["points"]]
    thick = min(19.0, max(0.1, max(heights) - min(heights)))
    ring = {"id": edits.new_id(document, part["id"]), "thickness_mm": thick, "segments": 12}
    part.setdefault("rings", []).append(ring)
    for stack in document.get("stacks", ()):
        if stack["part"] == part["id"]:
            stack["rings"].append(ring["id"])
            break
    return document, hands.place.at_ring(str(ring["id"]))


def _fit(document: Document, hands: Hands) -> tuple[Document, Place]:
    edits.fit_heights(document, _part(hands))
    return document, hands.place


def _mirror(document: Document, hands: Hands) -> tuple[Document, Place]:
    edits.mirror_rings(document, _part(hands))
    return document, hands.place


def _points(document: Document, hands: Hands) -> tuple[Document, Place]:
    piece_forms.set_points(document, _part(hands), hands.fields)
    return document, hands.place


def _point_add(document: Document, hands: Hands) -> tuple[Document, Place]:
    curve, index = _point_of(hands)
    edits.add_point(document, _part(hands), curve, index)
    return document, hands.place


def _point_remove(document: Document, hands: Hands) -> tuple[Document, Place]:
    curve, index = _point_of(hands)
    edits.remove_point(document, _part(hands), curve, index)
    return document, hands.place


def _point_of(hands: Hands) -> tuple[str, int]:
    curve, _, number = hands.fields.text("point").rpartition("-")
    if curve not in piece_forms.CURVES or not number.isdecimal():
        raise CraftError("That point is no longer in the drawing.")
    return curve, int(number)


def _shape(document: Document, hands: Hands) -> tuple[Document, Place]:
    shape.set_shape(document, _part(hands), hands.fields)
    return document, hands.place


def _underlay_scale(document: Document, hands: Hands) -> tuple[Document, Place]:
    shape.scale_underlay(document, _part(hands), hands.fields)
    return document, hands.place


def _underlay_move(document: Document, hands: Hands) -> tuple[Document, Place]:
    shape.move_underlay(document, _part(hands), hands.fields)
    return document, hands.place


def _underlay_remove(document: Document, hands: Hands) -> tuple[Document, Place]:
    shape.take_underlay_away(document, _part(hands))
    return document, hands.place


def _propose(document: Document, hands: Hands) -> tuple[Document, Place]:
    part = _part(hands)
    propose.refuse_unringed(edits.part_of(document, part))
    propose.propose(document, part, hands.fields, hands.woods, dict(hands.stock))
    return document, hands.place


def _paint(document: Document, hands: Hands) -> tuple[Document, Place]:
    last = paint.touch(document, hands.fields, hands.woods)
    return document, hands.place.seeing(last)


def _fill(document: Document, hands: Hands) -> tuple[Document, Place]:
    paint.fill(document, _part(hands), hands.fields, hands.woods)
    return document, hands.place


def _copy_pattern(document: Document, hands: Hands) -> tuple[Document, Place]:
    paint.copy_pattern(document, hands.fields)
    return document, hands.place


def _part_height(document: Document, hands: Hands) -> tuple[Document, Place]:
    height = hands.fields.length("height", low=1)
    if height is not None:
        edits.set_height(document, _part(hands), height)
    return document, hands.place


def _set_part(document: Document, hands: Hands) -> tuple[Document, Place]:
    piece_forms.set_part(document, _part(hands), hands.fields, hands.woods)
    return document, hands.place


def _remove_part(document: Document, hands: Hands) -> tuple[Document, Place]:
    edits.remove_part(document, _part(hands))
    return document, Place("parts")


def _joint(document: Document, hands: Hands) -> tuple[Document, Place]:
    piece_forms.set_joint(document, _index(document, "joints", hands), hands.fields)
    return document, hands.place


def _joint_add(document: Document, hands: Hands) -> tuple[Document, Place]:
    joint = piece_forms.new_joint(hands.fields, edits.new_id(document, "j"))
    document.setdefault("joints", []).append(joint)
    return document, hands.place


def _joint_remove(document: Document, hands: Hands) -> tuple[Document, Place]:
    del document["joints"][_index(document, "joints", hands)]
    return document, hands.place


def _stack(document: Document, hands: Hands) -> tuple[Document, Place]:
    index = _index(document, "stacks", hands)
    piece_forms.set_stack(document, index, hands.fields, hands.glues)
    # Only this stack: another one may stand in an order that somebody chose.
    before = [dict(stack) for stack in document["stacks"]]
    edits.sort_stacks(document)
    ordered = document["stacks"][index]
    document["stacks"] = [ordered if k == index else old for k, old in enumerate(before)]
    return document, hands.place


def _stack_add(document: Document, hands: Hands) -> tuple[Document, Place]:
    part = edits.part_of(document, _part(hands))
    on = {ring for stack in document.get("stacks", ()) for ring in stack.get("rings", ())}
    free = [ring["id"] for ring in part.get("rings", ()) if ring["id"] not in on]
    stack = {"id": edits.new_id(document, "s"), "part": part["id"], "rings": free}
    document.setdefault("stacks", []).append(stack)
    return document, hands.place


def _stack_remove(document: Document, hands: Hands) -> tuple[Document, Place]:
    del document["stacks"][_index(document, "stacks", hands)]
    return document, hands.place


def _index(document: Document, key: str, hands: Hands) -> int:
    name = hands.fields.text("id")
    for index, item in enumerate(document.get(key, ())):
        if item["id"] == name:
            return index
    raise CraftError("That is no longer in the drawing.")


def _shop(document: Document, hands: Hands) -> tuple[Document, Place]:
    piece_forms.set_shop(document, hands.fields)
    return document, hands.place


def _mend(document: Document, hands: Hands) -> tuple[Document, Place]:
    """Do what a check offers. The check is found anew, so that nothing old is done."""
    code, ring = hands.fields.text("code"), hands.fields.text("check_ring", required=False)
    part = hands.fields.text("check_part", required=False)
    for check in plan(parse_piece(document)).checks:
        same = (check.code, check.ring or "", check.part or "") == (code, ring, part)
        if same and check.mend is not None:
            return apply_mend(document, check.mend), hands.place
    raise CraftError("There is nothing to mend here any more.")


ACTS: Mapping[str, Act] = {
    "ring": _set_ring,
    "rings": _set_rings,
    **{name: _several(name) for name in several.WORKS},
    "ring-insert": _insert,
    "ring-split": _split,
    "ring-merge": _merge,
    "ring-remove": _remove,
    "ring-move": _move,
    "ring-first": _first_ring,
    "fit": _fit,
    "mirror": _mirror,
    "points": _points,
    "point-add": _point_add,
    "point-remove": _point_remove,
    "propose": _propose,
    "paint": _paint,
    "fill": _fill,
    "copy-pattern": _copy_pattern,
    "shape": _shape,
    "underlay-scale": _underlay_scale,
    "underlay-move": _underlay_move,
    "underlay-remove": _underlay_remove,
    "part-height": _part_height,
    "part": _set_part,
    "part-remove": _remove_part,
    "joint": _joint,
    "joint-add": _joint_add,
    "joint-remove": _joint_remove,
    "stack": _stack,
    "stack-add": _stack_add,
    "stack-remove": _stack_remove,
    "shop": _shop,
    "mend": _mend,
}
