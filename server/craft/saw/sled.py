"""What a test ring says about the saw: mitre, blade tilt and stop, and how far to move each.

Sign: a positive mitre error means that every cut is steeper than 180°/N, so that the segments
turn through more than a full circle and halves meet at their outer corners first. There are 2N
cuts in a ring, and their errors add up.
"""

import math
from dataclasses import dataclass
from typing import Literal

from server.craft.errors import FieldError

Side = Literal["outside", "inside"]
Across = Literal["flats", "corners", "flat-to-corner"]

_FEWEST, _MOST = 3, 360
_FULL_TURN_DEG = 360.0


@dataclass(frozen=True, slots=True)
class JointGaps:
    """Gaps at one joint laid on a flat table and pushed together, in mm.

    Where the two faces touch, the gap is 0.
    """

    outside_top_mm: float
    outside_bottom_mm: float
    inside_top_mm: float
    inside_bottom_mm: float


@dataclass(frozen=True, slots=True)
class SawError:
    """How far each cut is off: the mitre in the plane of the ring, the blade from upright."""

    mitre_deg: float
    tilt_deg: float = 0.0

    def fence_shift_mm(self, radius_mm: float) -> float:
        """How far to move the fence, measured square to it at this distance from its pivot.

        Positive turns the fence to a steeper mitre.
        """
        _positive("radius_mm", radius_mm)
        return -radius_mm * math.tan(math.radians(self.mitre_deg))


def error_from_angles(segments: int, sum_deg: float) -> SawError:
    """From the measured sum of all 2N mitre angles of a ring, in degrees (360 is right)."""
    _count(segments)
    return SawError((sum_deg - _FULL_TURN_DEG) / (2 * segments))


def error_from_ring_gap(
    segments: int, width_mm: float, outside_mm: float, inside_mm: float
) -> SawError:
    """From the last joint of a ring whose other joints are closed: its gap outside and inside.

    The faces stand at the wedge that the ring lacks; only the difference of the two gaps counts,
    so that the joint need not touch. `width_mm` is the segment's width.
    """
    _count(segments)
    face_mm = _face_mm(segments, width_mm)
    wedge_deg = _wedge_deg(outside_mm - inside_mm, face_mm, "outside_mm")
    return SawError(-wedge_deg / (2 * segments))


def error_from_halves(segments: int, width_mm: float, opening_mm: float, opens: Side) -> SawError:
    """From two half rings pushed together: how far their joints open at one side, in mm.

    Half the circle is N cuts, so a joint between halves shows N errors.
    """
    _even(segments)
    wedge_deg = _wedge_deg(opening_mm, _face_mm(segments, width_mm), "opening_mm")
    return SawError((-wedge_deg if opens == "outside" else wedge_deg) / segments)


def error_from_joint(
    segments: int, width_mm: float, thickness_mm: float, gaps: JointGaps
) -> SawError:
    """From the four corners of a joint between two half rings: mitre and blade tilt apart.

    Outside against inside is the mitre, N errors of it. Top against bottom is the blade: with
    strips that are flipped after each cut both faces of a joint lean the same way off upright,
    and the joint shows twice the tilt. A positive tilt opens the joint at the top.
    """
    _even(segments)
    _positive("thickness_mm", thickness_mm)
    outside = (gaps.outside_top_mm + gaps.outside_bottom_mm) / 2
    inside = (gaps.inside_top_mm + gaps.inside_bottom_mm) / 2
    top = (gaps.outside_top_mm + gaps.inside_top_mm) / 2
    bottom = (gaps.outside_bottom_mm + gaps.inside_bottom_mm) / 2
    wedge_deg = _wedge_deg(outside - inside, _face_mm(segments, width_mm), "gaps")
    lean_deg = _wedge_deg(top - bottom, thickness_mm, "gaps")
    return SawError(-wedge_deg / segments, lean_deg / 2)


def stop_correction_mm(
    segments: int, outer_edge_mm: float, measured_mm: float, across: Across
) -> float:
    """How far to move the stop so that the ring has the size that its outer edge asks for.

    `measured_mm` is the first ring's size across flats, across corners, or (odd N) from a flat to
    the corner opposite. Positive makes segments longer. An edge off by ΔL moves the radius by
    ΔL/(2·tan θ), the corner by ΔL/(2·sin θ).
    """
    _count(segments)
    _positive("outer_edge_mm", outer_edge_mm)
    _positive("measured_mm", measured_mm)
    odd = segments % 2 == 1
    if odd != (across == "flat-to-corner"):
        raise FieldError(
            "across",
            "A ring with an odd number of segments is measured from a flat to the corner opposite."
            if odd
            else "This ring is measured across its flats or across its corners.",
        )
    return outer_edge_mm - measured_mm / _size_for_each_mm(segments, across)


def ring_size_mm(segments: int, outer_edge_mm: float, across: Across) -> float:
    """Size of a ring before turning, from its outer edge."""
    _count(segments)
    return outer_edge_mm * _size_for_each_mm(segments, across)


def _size_for_each_mm(segments: int, across: Across) -> float:
    theta = math.pi / segments
    if across == "flats":
        return 1 / math.tan(theta)
    if across == "corners":
        return 1 / math.sin(theta)
    return (1 / math.tan(theta) + 1 / math.sin(theta)) / 2


def _wedge_deg(opening_mm: float, face_mm: float, field: str) -> float:
    """Angle between two faces of this length whose far edges are this far apart."""
    if abs(opening_mm) > face_mm:
        raise FieldError(field, "This gap is wider than the face is long; measure it again.")
    return math.degrees(2 * math.asin(opening_mm / (2 * face_mm)))


def _face_mm(segments: int, width_mm: float) -> float:
    """Length of a mitred face: W/cos θ."""
    _positive("width_mm", width_mm)
    return width_mm / math.cos(math.pi / segments)


def _count(segments: int) -> None:
    if not _FEWEST <= segments <= _MOST:
        raise FieldError("segments", f"A ring has {_FEWEST} to {_MOST} segments.")


def _even(segments: int) -> None:
    _count(segments)
    if segments % 2:
        raise FieldError("segments", "Half rings need an even number of segments.")


def _positive(field: str, value_mm: float) -> None:
    if not (value_mm > 0 and math.isfinite(value_mm)):
        raise FieldError(field, "This must be a length greater than nothing.")
