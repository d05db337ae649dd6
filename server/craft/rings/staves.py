"""Rings of leaning staves: boards flat on the saw, cut with mitre and bevel together.

The lean is counted from the vertical; charts of saw makers count the pitch from the horizontal,
which is 90° less the lean. Everything is measured at the big end, where the wall asks for the
thickest board; the formulas follow from the tangent planes of the cone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.craft.errors import GeometryError
from server.craft.rings.angles import Angles
from server.craft.rings.segments import flat_ring
from server.craft.rings.shapes import RingGeometry, SegmentShape

STEEPEST_LEAN_DEG = 80.0
"""Flatter than this a stave is no longer one: its blank grows without end."""


@dataclass(frozen=True, slots=True)
class CompoundSetting:
    """Saw settings for a board that lies flat, degrees."""

    mitre_deg: float
    bevel_deg: float

    @property
    def faces_meet_deg(self) -> float:
        """Angle between the outsides of two neighbouring boards."""
        return 180.0 - 2 * self.bevel_deg


@dataclass(frozen=True, slots=True)
class StaveRing:
    """A ring of staves; `big_end` is the flat ring that its section at the big end would be.

    In `segments` the outer edge is the wide and the inner edge the narrow end of the outside face,
    and the width is the board's. A blank is as long as `blank_length_mm` along the grain and
    `board_thickness_mm` thick. `small_radius_mm` is the outside apothem at the small end.
    """

    lean_deg: float
    height_mm: float
    big_end: RingGeometry
    segments: tuple[SegmentShape, ...]
    small_radius_mm: float
    board_width_mm: float
    board_thickness_mm: float
    blank_length_mm: float

    @property
    def corner_radius_mm(self) -> float:
        """The farthest corner from the axis, at the big end."""
        return self.big_end.corner_radius_mm

    @property
    def halves(self) -> Angles:
        """Half angle of each stave in degrees, in order."""
        return self.big_end.halves


def compound_setting(half_angle_deg: float, lean_deg: float) -> CompoundSetting:
    """Mitre and bevel for boards that close a ring of this half angle at this lean.

    Lean 0 gives plain vertical staves (a bevel only), lean 90 a flat ring (a mitre only); a lean
    the other way is cut the same. For a board held on edge at its lean, give 90° less the lean.
    """
    half, lean = math.radians(half_angle_deg), math.radians(abs(lean_deg))
    mitre = math.atan(math.tan(half) * math.sin(lean))
    # sin θ·cos t may round to a hair above 1 nowhere: θ is below 90°.
    bevel = math.asin(math.sin(half) * math.cos(lean))
    return CompoundSetting(math.degrees(mitre), math.degrees(bevel))


def stave_ring(
    segments: int,
    big_outside_mm: float,
    big_inside_mm: float,
    height_mm: float,
    lean_deg: float,
    *,
    spacer_mm: float = 0.0,
    gap_angle_deg: float = 0.0,
    gap_width_mm: float = 0.0,
    shares: Sequence[float] | None = None,
) -> StaveRing:
    """Staves for a wall with these radii at its big end: the top where it widens upward.

    Errors as `flat_ring`, and `lean-too-great` where the staves would meet before the small end.
    """
    if not 0 <= abs(lean_deg) <= STEEPEST_LEAN_DEG:
        raise GeometryError(
            "lean-too-great",
            f"Staves lean by {STEEPEST_LEAN_DEG:g}° at most; use a flat ring.",
            abs(lean_deg),
            STEEPEST_LEAN_DEG,
            "deg",
        )
    big = flat_ring(
        segments,
        big_outside_mm,
        big_inside_mm,
        spacer_mm=spacer_mm,
        gap_angle_deg=gap_angle_deg,
        gap_width_mm=gap_width_mm,
        shares=shares,
    )
    lean = math.radians(abs(lean_deg))
    small = big_outside_mm - height_mm * math.tan(lean)
    staves = {shape: _stave(shape, abs(lean_deg), big, small) for shape in set(big.segments)}
    if small <= 0 or min(stave.inner_edge_mm for stave in staves.values()) <= 0:
        raise GeometryError(
            "lean-too-great",
            "Leaning so far, these staves meet before they reach their small end.",
            abs(lean_deg),
            _steepest_deg(big, height_mm),
            "deg",
        )
    thickness = big.board_width_mm * math.cos(lean)
    return StaveRing(
        lean_deg=lean_deg,
        height_mm=height_mm,
        big_end=big,
        segments=tuple(staves[shape] for shape in big.segments),
        small_radius_mm=small,
        board_width_mm=max(stave.width_mm for stave in staves.values()),
        board_thickness_mm=thickness,
        blank_length_mm=height_mm / math.cos(lean) + thickness * math.tan(lean),
    )


def _steepest_deg(big: RingGeometry, height_mm: float) -> float:
    """The lean at which the narrowest stave of this big end comes to a point at its small end."""
    half = math.radians(min(shape.mitre_deg for shape in big.segments))
    room = big.outside_radius_mm - big.joint_shift_mm / math.sin(half)
    return math.degrees(math.atan(room / height_mm))


def small_end(stave: StaveRing) -> RingGeometry:
    """The flat ring that the staves' section at their small end is, boards as wide as at the big.

    Where the inside faces would pass the axis the pieces end in a tip, like pie segments.
    """
    big, shift = stave.big_end, stave.big_end.outside_radius_mm - stave.small_radius_mm
    shapes = {shape: _moved_in(shape, shift, big) for shape in set(big.segments)}
    narrow = min(big.segments, key=lambda shape: shape.half_angle_deg)
    reach = math.hypot(
        stave.small_radius_mm - shapes[narrow].width_mm, shapes[narrow].inner_edge_mm / 2
    )
    return replace(
        big,
        outside_radius_mm=stave.small_radius_mm,
        inside_radius_mm=reach if shapes[narrow].inner_edge_mm else 0.0,
        board_width_mm=max(shape.width_mm for shape in shapes.values()),
        corner_radius_mm=max(
            math.hypot(stave.small_radius_mm, shape.outer_edge_mm / 2) for shape in shapes.values()
        ),
        segments=tuple(shapes[shape] for shape in big.segments),
    )


def _moved_in(shape: SegmentShape, shift: float, big: RingGeometry) -> SegmentShape:
    """A segment of the big end with both edges nearer to the axis by `shift`, joints kept."""
    half = math.radians(shape.mitre_deg)
    shorter = 2 * shift * math.tan(half)
    inner = shape.inner_edge_mm - shorter
    width = shape.width_mm
    if inner <= 0:
        tip = big.joint_shift_mm / math.sin(half)
        inner, width = 0.0, big.outside_radius_mm - shift - tip
    return replace(
        shape,
        outer_edge_mm=shape.outer_edge_mm - shorter,
        inner_edge_mm=inner,
        width_mm=width,
    )


def _stave(shape: SegmentShape, lean_deg: float, big: RingGeometry, small: float) -> SegmentShape:
    """The stave over one share of the big end; joints are vertical planes, at any height alike."""
    half = math.radians(shape.mitre_deg)
    narrow = 2 * small * math.tan(half) - 2 * big.joint_shift_mm / math.cos(half)
    setting = compound_setting(shape.mitre_deg, lean_deg)
    return SegmentShape(
        half_angle_deg=shape.half_angle_deg,
        mitre_deg=setting.mitre_deg,
        outer_edge_mm=shape.outer_edge_mm,
        inner_edge_mm=narrow,
        width_mm=shape.outer_edge_mm,
        bevel_deg=setting.bevel_deg,
    )
