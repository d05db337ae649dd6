"""Plan outlines of the pieces of a flat ring, seen from above, mm, counter-clockwise from 0°."""

from __future__ import annotations

import numpy as np

from server.craft.form.slopes import Floats
from server.craft.rings.shapes import RingGeometry


def start_angles_deg(ring: RingGeometry, phase: float = 0.0) -> Floats:
    """Where each segment begins: joint angles in degrees, the first at `phase` pitches."""
    starts: Floats = ring.starts_deg + phase * 360.0 / len(ring.segments)
    return starts


def segment_polygons(ring: RingGeometry, phase: float = 0.0) -> Floats:
    """Corners (n, 4, 2) of each segment as sawn: inner, outer, outer, inner.

    A pie segment has its two inner corners in one place.
    """
    middle = start_angles_deg(ring, phase) + ring.halves_deg
    width, outer, inner = ring.sizes_mm.T / [[1], [2], [2]]
    near = ring.outside_radius_mm - width
    far = np.full_like(near, ring.outside_radius_mm)
    x = np.stack([near, far, far, near], axis=1)
    y = np.stack([-inner, -outer, outer, inner], axis=1)
    return turned(x, y, middle)


def spacer_polygons(ring: RingGeometry, phase: float = 0.0) -> Floats:
    """Corners (n, 4, 2) of the strips in the joints; (0, 4, 2) where there are none."""
    if ring.spacer_mm == 0:
        return np.empty((0, 4, 2))
    far, half = ring.outside_radius_mm, ring.spacer_mm / 2
    near = far - ring.spacer_length_mm
    angles = start_angles_deg(ring, phase)
    x = np.tile([near, far, far, near], (len(angles), 1))
    y = np.tile([-half, -half, half, half], (len(angles), 1))
    return turned(x, y, angles)


def turned(x: Floats, y: Floats, angles_deg: Floats) -> Floats:
    """Turn each row of points about the axis by its own angle; (n, k, 2)."""
    angle = np.radians(angles_deg)[:, None]
    cos, sin = np.cos(angle), np.sin(angle)
    return np.stack([x * cos - y * sin, x * sin + y * cos], axis=-1)
