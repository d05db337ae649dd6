"""What the journal calls a piece's ids: rings, stacks, parts, joints, steps at the lathe."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.craft.document import DocumentError, Piece, parse_piece
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.units import Units
from server.craft.worked.piece import work_piece
from server.web.orders import faceplate_names, ring_labels


@dataclass(frozen=True, slots=True)
class Names:
    """Names of one piece; `rings`, `steps` and `others` by id. Units are the piece's."""

    piece: str
    title: str
    units: Units
    rings: Mapping[str, str]
    steps: Mapping[str, str]
    others: Mapping[str, str]

    def of(self, subject: str) -> str:
        """What to call anything of the piece."""
        for shelf in (self.rings, self.others, self.steps):
            if subject in shelf:
                return shelf[subject]
        return "the piece" if subject == self.piece else subject


def names_of(piece_id: str, title: str, document: Mapping[str, Any]) -> Names:
    """The names that a kept drawing gives; bare ids where it cannot be read."""
    try:
        piece = parse_piece(document)
    except DocumentError:
        return Names(piece_id, title, "mm", {}, {}, {})
    parts = {part.id: part.title for part in piece.parts}
    steps = {
        step.id: f"{step.title}, {parts[step.part]}" if step.part else step.title
        for step in lathe_steps(work_piece(piece))
    }
    return Names(piece_id, title, piece.display_units, _rings(piece), steps, _others(piece))


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
