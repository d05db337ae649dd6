"""What small errors at the saw do to a ring.

`cut_error_deg` is the error of each of the two cuts of a segment: positive where the mitre is too
large. Glued one to the next, equal segments all point to one apex; N of them make 2N cuts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Side = Literal["inside", "outside"]


@dataclass(frozen=True, slots=True)
class ClosingError:
    """The last joint when all others are glued tight: a wedge open, or overlapping if too large.

    Gaps (mm) are measured between the corners, outside and inside, without regard to sign. Pressed
    together the joint touches at the other side and opens at `opens`.
    """

    wedge_deg: float
    gap_outside_mm: float
    gap_inside_mm: float
    opens: Side


@dataclass(frozen=True, slots=True)
class HalfRings:
    """Two glued halves laid together, and what truing them across their diameter does.

    Each of the two joints opens by `opening_mm` at its `opens` side. Truing takes `take_off_mm` off
    each end of each half, at the side that touches. Across the trued joints the closed ring is then
    larger by `diameter_change_mm` than a ring of these segments is elsewhere: out of round by that.
    """

    opening_mm: float
    opens: Side
    take_off_mm: float
    diameter_change_mm: float


def radius_error_mm(edge_error_mm: float, half_angle_deg: float) -> float:
    """How much larger the ring becomes when every outer edge is longer by this much."""
    return edge_error_mm / (2 * math.tan(math.radians(half_angle_deg)))


def closing_error(
    segments: int, cut_error_deg: float, outer_edge_mm: float, width_mm: float
) -> ClosingError:
    """The last joint of a ring of equal segments sawn with this error."""
    mitre = math.pi / segments + math.radians(cut_error_deg)
    wedge = 2 * segments * abs(cut_error_deg)
    across = 2 * math.sin(math.radians(wedge) / 2)
    outer = outer_edge_mm / 2 / math.sin(mitre)
    inner = outer - width_mm / math.cos(mitre)
    return ClosingError(wedge, outer * across, inner * across, _opens(cut_error_deg))


def half_rings(
    segments: int, cut_error_deg: float, outer_edge_mm: float, width_mm: float
) -> HalfRings:
    """Two halves of N/2 equal segments each (N even) sawn with this error."""
    mitre = math.pi / segments + math.radians(cut_error_deg)
    # Each end face of a half lies this far off the diameter.
    off = math.radians(segments * abs(cut_error_deg)) / 2
    face = width_mm / math.cos(mitre)
    outer = outer_edge_mm / 2 / math.sin(mitre)
    # Too small a mitre: the diameter goes through the outer corners, and the halves lose height.
    change = -outer if cut_error_deg < 0 else outer - face
    return HalfRings(
        opening_mm=2 * face * math.sin(off),
        opens=_opens(cut_error_deg),
        take_off_mm=face * math.sin(off),
        diameter_change_mm=2 * change * math.sin(off),
    )


def _opens(cut_error: float) -> Side:
    return "inside" if cut_error > 0 else "outside"
