"""The finished wood at a glue plane: what two rings have in common there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from server.craft.form.curves import Curve
from server.craft.form.cuts import cut_curve
from server.craft.form.section import fill_level, foot_line, rim_line
from server.craft.form.tolerance import PLANE_MM

Side = Literal["below", "above"]
Annulus = tuple[float, float]
"""Inner and outer radius, mm."""


@dataclass(frozen=True, slots=True)
class CommonFace:
    """Annuli of finished wood that two rings share, and the widest of their radial widths (mm)."""

    annuli: tuple[Annulus, ...]

    @property
    def width_mm(self) -> float:
        """Radial width of the widest annulus; 0 where nothing is shared."""
        return max((big - small for small, big in self.annuli), default=0.0)


def common_face(
    outside: Curve, inside: Curve | None, floor_mm: float | None, z_mm: float
) -> CommonFace:
    """What the finished form has just below and just above the plane, both."""
    below = wood_at(outside, inside, floor_mm, z_mm, "below")
    above = wood_at(outside, inside, floor_mm, z_mm, "above")
    shared = [(max(a[0], b[0]), min(a[1], b[1])) for a in below for b in above]
    return CommonFace(tuple(face for face in sorted(shared) if face[1] > face[0]))


def wood_at(
    outside: Curve, inside: Curve | None, floor_mm: float | None, z_mm: float, side: Side
) -> tuple[Annulus, ...]:
    """Annuli of wood in the limit towards the plane from one side, from the axis outward."""
    radii = _limits(outside, z_mm, side)
    if inside is not None:
        filled = fill_level(floor_mm)
        hollow = z_mm > filled + PLANE_MM or (side == "above" and z_mm >= filled - PLANE_MM)
        lines = [rim_line(outside, inside), foot_line(outside, inside, floor_mm)]
        for curve in [inside, *lines] if hollow else []:
            radii += _limits(curve, z_mm, side) if curve is not None else []
    radii.sort()
    if len(radii) % 2:
        radii.insert(0, 0.0)
    pairs = zip(radii[::2], radii[1::2], strict=True)
    return tuple((small, big) for small, big in pairs if big > small)


def _limits(curve: Curve, z_mm: float, side: Side) -> list[float]:
    """Radii where the curve leaves the plane towards that side, or crosses it."""
    heights = curve.spans[:, (0, 3), 1]
    low, high = heights.min(axis=1), heights.max(axis=1)
    if side == "above":
        met = (low <= z_mm + PLANE_MM) & (high > z_mm + PLANE_MM)
    else:
        met = (high >= z_mm - PLANE_MM) & (low < z_mm - PLANE_MM)
    radii: list[float] = (
        cut_curve(curve, [z_mm]).radius[met & (high - low > 2 * PLANE_MM), 0].tolist()
    )
    return radii
