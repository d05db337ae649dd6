"""Rings in one piece: discs, veneers, and the plugs that fill a ring's centre."""

from __future__ import annotations

import math
from dataclasses import dataclass

from server.craft.errors import GeometryError
from server.craft.rings.shapes import RingGeometry


@dataclass(frozen=True, slots=True)
class DiscGeometry:
    """A round blank, or a washer where it has an inside radius; mm, grain in degrees.

    `recess_radius_mm` is what it lies in where it must be free to move across its grain.
    """

    outside_radius_mm: float
    inside_radius_mm: float
    grain_deg: float
    recess_radius_mm: float

    @property
    def board_width_mm(self) -> float:
        """Least width of a board that holds it in one piece."""
        return 2 * self.outside_radius_mm

    @property
    def face_mm2(self) -> float:
        """Area of its face."""
        return math.pi * (self.outside_radius_mm**2 - self.inside_radius_mm**2)


@dataclass(frozen=True, slots=True)
class PanelBoard:
    """One board of a panel glued edge to edge for a disc: `offset_mm` is its near edge's place."""

    offset_mm: float
    width_mm: float
    length_mm: float


def disc(
    outside_radius_mm: float,
    inside_radius_mm: float = 0.0,
    *,
    grain_deg: float = 0.0,
    floating_gap_mm: float = 0.0,
) -> DiscGeometry:
    """A disc or veneer; `floating_gap_mm` is left free all round it.

    GeometryError `inside-outside` where the hole is as wide as the disc.
    """
    if inside_radius_mm >= outside_radius_mm:
        raise GeometryError("inside-outside", "The hole is as wide as the disc.")
    return DiscGeometry(
        outside_radius_mm,
        inside_radius_mm,
        grain_deg % 180.0,
        outside_radius_mm + floating_gap_mm,
    )


def panel_boards(radius_mm: float, board_width_mm: float) -> list[PanelBoard]:
    """Boards, side by side along the grain, from which a disc too wide for one is glued.

    As few as cover the disc, all of one width, laid about its centre; each as long as the disc is
    at the board's edge that lies nearer the centre.
    """
    count = math.ceil(2 * radius_mm / board_width_mm - 1e-9)
    width = 2 * radius_mm / count
    boards = []
    for i in range(count):
        near, far = sorted((abs(-radius_mm + i * width), abs(-radius_mm + (i + 1) * width)))
        over_centre = count % 2 == 1 and i == count // 2
        edge = 0.0 if over_centre else min(near, far)
        length = 2 * math.sqrt(max(0.0, radius_mm**2 - edge**2))
        boards.append(PanelBoard(-radius_mm + i * width, width, length))
    return boards


def least_plug_mm(ring: RingGeometry) -> float:
    """Diameter of the smallest plug that covers the hole of a flat ring as glued."""
    if ring.inside_radius_mm == 0:
        return 2 * ring.centre_hole_mm
    # The inner corners are the hole's farthest points, and lie on the inside circle.
    return 2 * ring.inside_radius_mm


def refuse_wide_plug(diameter_mm: float, outside_radius_mm: float) -> None:
    """GeometryError `plug-too-wide` unless wood of the ring is left round the plug."""
    if diameter_mm >= 2 * outside_radius_mm:
        raise GeometryError(
            "plug-too-wide",
            "The plug is as wide as the ring itself.",
            diameter_mm,
            2 * outside_radius_mm,
            "mm",
        )
