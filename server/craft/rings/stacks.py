"""How rings lie on a stack as the person gluing sees them, and the marks that keep them in phase.

Angles of a drawing run counter-clockwise seen from above. A stack that is mounted by its top is
built downward: whoever glues looks at it from below, and every direction is mirrored.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Literal

import numpy as np

from server.craft.records import record
from server.craft.rings.joints import JointAngles

Mounted = Literal["bottom", "top"]


@record
class SeenRing:
    """A ring as it is laid on the stack: in pitches counter-clockwise as seen, and its order.

    `first_segment` is the drawing's number of the segment that follows the joint at `phase`;
    `step` is 1 where the numbers go up counter-clockwise as seen, −1 where they go down.
    """

    phase: float
    first_segment: int
    step: int


@record
class RegisterMark:
    """How far a joint lies beyond a mark, counter-clockwise as the person gluing sees it."""

    turn_deg: float
    along_rim_mm: float


def as_seen(phase: float, segments: int, mounted: Mounted, *, shares: bool = False) -> SeenRing:
    """The ring's phase as seen while gluing, below one pitch.

    With unequal shares whole pitches count: the phase is then up to one turn, and segment numbers
    start after that joint.
    """
    if mounted == "bottom":
        return SeenRing(phase, 0, 1)
    turns = -phase % segments
    if shares:
        return SeenRing(turns % segments, segments - 1, -1)
    # Every pitch looks alike: name the joint next to the zero instead.
    joint = math.floor(turns)
    return SeenRing(turns - joint, (segments - 1 + joint) % segments, -1)


def seen_joints_deg(joints_deg: JointAngles, mounted: Mounted) -> JointAngles:
    """Joint angles as seen while gluing."""
    if mounted == "bottom":
        return joints_deg
    return JointAngles(np.sort(np.mod(-np.array(joints_deg), 360.0)).tolist())


def zero_mark(seen: SeenRing, segments: int, rim_radius_mm: float) -> RegisterMark:
    """From the part's zero, carried up the stack as a line, to the joint before `first_segment`."""
    turn = seen.phase * 360.0 / segments
    return RegisterMark(turn, math.radians(turn) * rim_radius_mm)


def register_mark(
    laid_on_deg: JointAngles,
    to_lay_deg: JointAngles,
    rim_radius_mm: float,
    mounted: Mounted = "bottom",
) -> RegisterMark:
    """From the laid ring's first joint past the zero to the next joint of the ring to be laid.

    Both are joint angles of the drawing.
    """
    turn = _register_turn_deg(laid_on_deg, to_lay_deg, mounted)
    return RegisterMark(turn, math.radians(turn) * rim_radius_mm)


@lru_cache(maxsize=1024)
def _register_turn_deg(laid_on: JointAngles, to_lay: JointAngles, mounted: Mounted) -> float:
    laid, new = (seen_joints_deg(joints, mounted) for joints in (laid_on, to_lay))
    return float(np.mod(np.array(new) - laid[0], 360.0).min())


def matching_mark(
    lower_top_deg: JointAngles, upper_bottom_deg: JointAngles, rim_radius_mm: float
) -> RegisterMark:
    """Turning of the upper stack's lowest ring on the lower stack's highest when two are joined.

    Seen from above, from the lower ring's first joint counter-clockwise to the upper's next.
    """
    return register_mark(lower_top_deg, upper_bottom_deg, rim_radius_mm)
