"""What the rings of a drawing are called, at the bench as on paper."""

from server.craft.document.piece import Piece


def ring_labels(piece: Piece) -> dict[str, str]:
    """Rings are called by their place in their part, from the bottom: 1, 2, 3."""
    return {
        ring.id: str(number)
        for part in piece.parts
        for number, ring in enumerate(part.rings, start=1)
    }
