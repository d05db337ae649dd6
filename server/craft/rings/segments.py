"""Flat rings of mitred segments: board, mitres and edges from the two radii.

All by definition: the outer flats reach the outside circle, the inner corners lie on the inside
circle, so that the rough ring holds the whole annulus between them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from server.craft.errors import CraftError, GeometryError
from server.craft.rings.angles import Angles
from server.craft.rings.faces import (
    RoughFace,
    disc_face,
    finished_face_mm2,
    ring_face,
    rough_overlaps_mm2,
)
from server.craft.rings.joints import gap_overlap_deg, joint_angles_deg, least_joint_angle_deg
from server.craft.rings.outlines import segment_polygons, spacer_polygons
from server.craft.rings.shapes import RingGeometry, SegmentShape, grouped

_WIDEST_HALF_DEG = 89.0
"""Half angle from which on a segment's flat edge would reach out without end."""

__all__ = [
    "RingGeometry",
    "RoughFace",
    "SegmentShape",
    "disc_face",
    "finished_face_mm2",
    "flat_ring",
    "gap_overlap_deg",
    "grouped",
    "half_angles_deg",
    "joint_angles_deg",
    "least_joint_angle_deg",
    "ring_face",
    "rough_overlaps_mm2",
    "segment_polygons",
    "spacer_polygons",
]


def flat_ring(
    segments: int,
    outside_radius_mm: float,
    inside_radius_mm: float,
    *,
    spacer_mm: float = 0.0,
    gap_angle_deg: float = 0.0,
    gap_width_mm: float = 0.0,
    shares: Sequence[float] | None = None,
) -> RingGeometry:
    """The ring that holds the annulus between the two radii; inside 0 gives pie segments.

    At most one of spacer, gap angle and gap width. `shares` are relative widths that repeat round
    the ring. GeometryError with code `inside-outside`, `spacer-too-thick`, `gap-too-wide` or
    `share-too-wide` where no such ring can be made.
    """
    big, small = outside_radius_mm, inside_radius_mm
    _refuse_bad_numbers(segments, big, small, spacer_mm, gap_angle_deg, gap_width_mm)
    between = spacer_mm + gap_width_mm
    halves = half_angles_deg(segments, shares)
    narrowest = math.radians(halves.different[0])
    _refuse_thick_joints(narrowest, big, small, spacer_mm, gap_angle_deg, gap_width_mm)
    shapes = {
        half: _shape(half, half - gap_angle_deg / 2, between, big, small)
        for half in halves.different
    }
    kinds = tuple(shapes.values())
    length = _spacer_length(spacer_mm, narrowest, big, small) if spacer_mm else 0.0
    hole = between / 2 / math.sin(narrowest) if small == 0 else 0.0
    return RingGeometry(
        outside_radius_mm=big,
        inside_radius_mm=small,
        board_width_mm=max([kind.width_mm for kind in kinds]),
        corner_radius_mm=max([math.hypot(big, kind.outer_edge_mm / 2) for kind in kinds]),
        segments=kinds * segments if len(kinds) == 1 else tuple(map(shapes.__getitem__, halves)),
        halves=halves,
        spacer_mm=spacer_mm,
        spacer_length_mm=length,
        gap_angle_deg=gap_angle_deg,
        gap_width_mm=gap_width_mm,
        centre_hole_mm=hole,
    )


def half_angles_deg(segments: int, shares: Sequence[float] | None = None) -> Angles:
    """Half of each segment's share of the turn, in order."""
    return _half_angles_deg(segments, None if shares is None else tuple(shares))


@lru_cache(maxsize=256)
def _half_angles_deg(segments: int, shares: tuple[float, ...] | None) -> Angles:
    if shares is None:
        return Angles((180.0 / segments,) * segments)
    if not shares or not all(math.isfinite(share) and share > 0 for share in shares):
        raise CraftError("Every share of a ring must be more than nothing.")
    each = [float(shares[i % len(shares)]) for i in range(segments)]
    turn = math.fsum(each)
    halves = Angles(180.0 * share / turn for share in each)
    if max(halves) >= _WIDEST_HALF_DEG:
        raise GeometryError(
            "share-too-wide",
            "One segment would take half of the ring: no flat board reaches that.",
            2 * max(halves),
            2 * _WIDEST_HALF_DEG,
            "deg",
        )
    return halves


def _shape(
    half_angle_deg: float, mitre_deg: float, between: float, big: float, small: float
) -> SegmentShape:
    """One segment; `between` is the parallel distance left at each joint."""
    half = math.radians(mitre_deg)
    lost = between / math.cos(half)
    outer = 2 * big * math.tan(half) - lost
    if small == 0:
        width, inner = big - between / 2 / math.sin(half), 0.0
    else:
        apothem = small * math.cos(half - math.asin(between / 2 / small))
        width, inner = big - apothem, 2 * apothem * math.tan(half) - lost
    return SegmentShape(half_angle_deg, mitre_deg, outer, inner, width)


def _spacer_length(spacer: float, half: float, big: float, small: float) -> float:
    """From where the strip's corners meet the inside (or the next strip's) to the outside."""
    if small == 0:
        return big - spacer / 2 / math.tan(half)
    return big - math.sqrt(small**2 - spacer**2 / 4)


def _refuse_bad_numbers(segments: int, big: float, small: float, *joint: float) -> None:
    if segments < 3:
        raise CraftError("A ring has three segments or more.")
    if not all(map(math.isfinite, (big, small, *joint))) or small < 0 or min(joint) < 0:
        raise CraftError("Radii, spacers and gaps are numbers of nothing or more.")
    if joint.count(0) < len(joint) - 1:
        raise CraftError("A joint holds a spacer or stays open one way, not both.")
    if small >= big:
        raise GeometryError(
            "inside-outside",
            "The inside of this ring is as wide as its outside.",
            big - small,
            0.0,
            "mm",
        )


def _refuse_thick_joints(
    half: float, big: float, small: float, spacer: float, gap_angle: float, gap_width: float
) -> None:
    """What is taken at each joint must leave the narrowest segment an edge."""
    widest = 2 * (small or big) * math.sin(half)
    if spacer and spacer >= widest:
        raise GeometryError(
            "spacer-too-thick",
            f"Spacers of {spacer:g} mm meet each other: they must be thinner than {widest:.2f} mm.",
            spacer,
            widest,
            "mm",
        )
    if gap_width and gap_width >= widest:
        raise GeometryError(
            "gap-too-wide",
            f"Gaps of {gap_width:g} mm meet each other: they must be under {widest:.2f} mm.",
            gap_width,
            widest,
            "mm",
        )
    if gap_angle and math.radians(gap_angle) >= 2 * half:
        raise GeometryError(
            "gap-too-wide",
            f"A gap of {gap_angle:g}° leaves nothing of a segment of {math.degrees(2 * half):g}°.",
            gap_angle,
            math.degrees(2 * half),
            "deg",
        )
