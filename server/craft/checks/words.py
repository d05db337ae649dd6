"""How the checks write lengths and names."""

from server.craft.planned import Planned
from server.craft.units import format_length
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing


def length(planned: Planned, mm: float) -> str:
    """A length in the user's units, as text."""
    return format_length(mm, planned.piece.display_units)


def the_ring(planned: Planned, ring: WorkedRing) -> str:
    """Which ring, as a turner would say it: counted from the bottom of its part."""
    part = planned.work.by_part[ring.part]
    return f"ring {ring.index + 1} of {part.part.title}"


def the_part(part: WorkedPart) -> str:
    """Which part."""
    return part.part.title


def sentence(text: str) -> str:
    """The text with a capital at its beginning; names inside keep theirs."""
    return text[:1].upper() + text[1:]
