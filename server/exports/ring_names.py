"""What rings are called on paper: as at the bench, by their place in their part."""

from collections.abc import Collection

from server.craft.document.ring_labels import ring_labels
from server.craft.planned import Planned
from server.exports.templates.said import listed
from server.exports.words import one_line


def cut_names(planned: Planned) -> dict[str, str]:
    """What is cut for a ring, as `Bowl ring 3`, or for a part as a whole, by their ids."""
    parts = {part.id: one_line(part.title, 20) for part in planned.piece.parts}
    numbers = ring_labels(planned.piece)
    rings = {
        ring.id: f"{parts[part.id]} ring {numbers[ring.id]}"
        for part in planned.piece.parts
        for ring in part.rings
    }
    return parts | rings


def rings_called(planned: Planned, rings: Collection[str]) -> str:
    """Several rings in a few words, part by part: `Bowl rings 1, 2, Base ring 1`."""
    numbers, said = ring_labels(planned.piece), []
    for part in planned.piece.parts:
        own = [numbers[ring.id] for ring in part.rings if ring.id in rings]
        if own:
            noun = "ring" if len(own) == 1 else "rings"
            said.append(f"{one_line(part.title, 20)} {noun} {listed(own)}")
    return ", ".join(said)
