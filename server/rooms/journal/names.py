"""What the journal calls a piece's ids: rings, stacks, parts, joints, steps at the lathe."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from server.craft.document import Piece
from server.craft.document.ring_labels import ring_labels
from server.craft.planned import Planned
from server.craft.units import Units
from server.craft.wood.species import all_species
from server.store.rack import RackItem
from server.web.orders import faceplate_names, glues_of


@dataclass(frozen=True, slots=True)
class Names:
    """Names of one piece and of what it took: rings, steps, others, glues, things on the rack, by
    id. Units are the piece's.
    """

    piece: str
    title: str
    units: Units
    rings: Mapping[str, str]
    steps: Mapping[str, str]
    others: Mapping[str, str]
    glues: Mapping[str, str] = field(default_factory=dict)
    rack: Mapping[str, str] = field(default_factory=dict)

    def of(self, subject: str) -> str:
        """What to call anything of the piece."""
        for shelf in (self.rings, self.others, self.steps):
            if subject in shelf:
                return shelf[subject]
        return "the piece" if subject == self.piece else subject


def names_of(piece_id: str, title: str, planned: Planned | None, rack: Mapping[str, str]) -> Names:
    """The names that a kept drawing gives; bare ids where it cannot be read: None."""
    if planned is None:
        return Names(piece_id, title, "mm", {}, {}, {}, rack=rack)
    piece = planned.piece
    parts = {part.id: part.title for part in piece.parts}
    steps = {
        step.id: f"{step.title}, {parts[step.part]}" if step.part else step.title
        for step in planned.usual_steps
    }
    glues = {glue.id: glue.name for glue in glues_of(piece).values()}
    units, rings, others = piece.display_units, _rings(piece), _others(piece)
    return Names(piece_id, title, units, rings, steps, others, glues, rack)


def rack_names(items: Iterable[RackItem]) -> dict[str, str]:
    """What lies or lay on the rack: by the name it was given, else its wood and what it is."""
    woods = {wood.id: wood.name for wood in all_species()}
    return {item.id: _rack_name(item, woods) for item in items}


def _rack_name(item: RackItem, woods: Mapping[str, str]) -> str:
    given, wood = item.document.get("name"), str(item.document.get("wood", ""))
    if isinstance(given, str) and given.strip():
        return given.strip()
    return f"{woods.get(wood, wood)} {item.kind.replace('-', ' ')}".strip()


def _rings(piece: Piece) -> dict[str, str]:
    labels = ring_labels(piece)
    several = sum(bool(part.rings) for part in piece.parts) > 1
    return {
        ring.id: f"ring {labels[ring.id]}" + (f" of the {part.title}" if several else "")
        for part in piece.parts
        for ring in part.rings
    }


def _others(piece: Piece) -> dict[str, str]:
    letters = faceplate_names(piece)
    parts = {part.id: part.title for part in piece.parts}
    stacks = {stack.id: f"{stack.title} on {letters[stack.id]}" for stack in piece.stacks}
    joints = {
        joint.id: f"the joint of {parts[joint.tenon.part]} and {parts[joint.mortise.part]}"
        for joint in piece.joints
    }
    return {**parts, **stacks, **joints}
