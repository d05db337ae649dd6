"""Where the joints of neighbouring rings lie to one another, and what bridges an open one."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from server.craft.rings.angles import Angles
from server.craft.rings.outlines import start_angles_deg
from server.craft.rings.shapes import RingGeometry, first_angles_deg

JointAngles = Angles
"""Where the joints of a ring lie, in degrees, ascending from 0 to below 360."""


def joint_angles_deg(ring: RingGeometry, phase: float = 0.0) -> JointAngles:
    """Joints counter-clockwise seen from above, in degrees from the part's zero."""
    return _joint_angles_deg(ring.halves, phase)


# Radii do not turn a joint: most rings of a piece, whatever its form, have one of few divisions.
@lru_cache(maxsize=1024)
def _joint_angles_deg(halves: Angles, phase: float) -> JointAngles:
    starts = first_angles_deg(halves) + phase * 360.0 / len(halves)
    return Angles(np.sort(np.mod(starts, 360.0)).tolist())


@lru_cache(maxsize=1024)
def least_joint_angle_deg(lower: JointAngles, upper: JointAngles) -> float:
    """Least angle between a joint of one ring and a joint of the other."""
    ring = np.array([upper[-1] - 360.0, *upper, upper[0] + 360.0])
    joints = np.array(lower)
    after = np.searchsorted(ring, joints)
    return float(np.minimum(ring[after] - joints, joints - ring[after - 1]).min())


def gap_overlap_deg(
    ring: RingGeometry, phase: float, neighbour: RingGeometry | None, neighbour_phase: float = 0.0
) -> float | None:
    """How far the neighbour's wood reaches over the segments beside each open joint, degrees.

    The least over all gaps, on the shorter side; nothing or less where a gap is not bridged. A
    closed neighbour, or a disc (None), bridges everything as far as the segments reach. None where
    the ring has no open joints. Parallel gaps are measured where the rings first meet, at the
    larger of the two inside radii: they are widest there.
    """
    if not ring.is_open:
        return None
    small = max(ring.inside_radius_mm, neighbour.inside_radius_mm if neighbour else 0.0)
    gap = _half_gap_deg(ring, small)
    shares = 2 * ring.halves_deg
    # The gap in front of segment i lies between segments i − 1 and i.
    wood = np.minimum(shares, np.roll(shares, 1)) - 2 * gap
    if neighbour is None or not neighbour.is_open:
        return float(wood.min())
    starts = start_angles_deg(neighbour, neighbour_phase)
    halves = neighbour.halves_deg
    # From the middle of each gap to the middle of each of the neighbour's segments.
    gaps = start_angles_deg(ring, phase)
    if _is_even(ring) and _is_even(neighbour):
        # Both patterns repeat: the gaps of one round see everything there is to see.
        gaps = gaps[: len(gaps) // math.gcd(len(gaps), len(starts))]
    off = starts + halves - gaps[:, None]
    off = np.abs(np.mod(off + 180.0, 360.0) - 180.0)
    reach = (halves - _half_gap_deg(neighbour, small)) - off - gap
    return float(min(reach.max(axis=1).min(), wood.min()))


def _is_even(ring: RingGeometry) -> bool:
    return ring.segments.count(ring.segments[0]) == len(ring.segments)


def _half_gap_deg(ring: RingGeometry, radius_mm: float) -> float:
    if ring.gap_width_mm == 0:
        return ring.gap_angle_deg / 2
    radius = max(radius_mm, ring.centre_hole_mm)
    return math.degrees(math.asin(min(1.0, ring.gap_width_mm / 2 / radius)))
