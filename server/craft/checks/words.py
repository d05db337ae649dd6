"""How the checks write lengths and names."""

from server.craft.planned import Planned
from server.craft.units import format_length
from server.craft.worked.piece import WorkedPart
from server.craft.worked.rings import WorkedRing


def length(planned: Planned, mm: float) -> str:
    """A length in the user's units, as text; what would read as nothing is said in mm."""
    units = planned.piece.display_units
    text = format_length(mm, units)
    return text if mm == 0 or text != format_length(0.0, units) else f"{mm:.2g} mm"


def lengths(planned: Planned, one_mm: float, other_mm: float) -> tuple[str, str]:
    """Two lengths that differ, written so finely that their words differ too."""
    units = planned.piece.display_units
    for places in range(1, 4):
        one, other = (format_length(mm, units, places) for mm in (one_mm, other_mm))
        if one != other:
            return one, other
        if units == "in":
            break
    return (f"{one_mm:.6g} mm", f"{other_mm:.6g} mm")


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
