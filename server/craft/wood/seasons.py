"""What the seasons do to a ring, a disc in it and a stave beside it.

The grain of a flat ring's segment runs along the segment: its width moves, its length hardly
does, so the mitre changes. All of it follows from the geometry; `s` is the relative change of
width of `movement.relative_change`, positive when it swells.
"""

from collections.abc import Iterable, Sequence
from math import atan, cos, degrees, radians, tan
from typing import Literal

from server.craft.records import record
from server.craft.wood.movement import Grain, relative_change
from server.craft.wood.properties import Species

Opens = Literal["outside", "inside", "nowhere"]


@record
class SeasonGap:
    """The gap that a joint is forced to, mm at its open end, and which end that is."""

    gap_mm: float
    opens: Opens
    mitre_change_deg: float

    def over(self, width_mm: float) -> "SeasonGap":
        """The gap of a wall so wide, where this is that of one millimetre: it grows as the wall."""
        return SeasonGap(self.gap_mm * width_mm, self.opens, self.mitre_change_deg)


@record
class Side:
    """One face of a joint: the half angle of its segment and the width change of its wood."""

    half_angle_deg: float
    relative_change: float


def mitre_change_deg(half_angle_deg: float, s: float) -> float:
    """How far a mitre of θ turns when the width changes by s: atan(tan θ/(1 + s)) − θ."""
    theta = radians(half_angle_deg)
    return degrees(atan(tan(theta) / (1.0 + s)) - theta)


def season_gap(segments: int, width_mm: float, s: float) -> SeasonGap:
    """The gap at each joint of a ring of one wood, shared by all its joints.

    gap = 2·|δ|·W/cos θ with δ of `mitre_change_deg`. Wetter (s > 0) makes the mitres too
    small and opens the joints outside, drier opens them inside.
    """
    side = Side(180.0 / segments, s)
    return joint_gap(side, side, width_mm)


def season_gap_mm(segments: int, width_mm: float, s: float) -> float:
    """The gap of `season_gap` alone, mm."""
    return season_gap(segments, width_mm, s).gap_mm


def joint_gap(one: Side, other: Side, width_mm: float) -> SeasonGap:
    """The gap of a single joint whose two faces may belong to different woods and angles.

    The face is W/cos θ long, θ the mean of the two half angles.
    """
    change = mitre_change_deg(one.half_angle_deg, one.relative_change)
    change += mitre_change_deg(other.half_angle_deg, other.relative_change)
    theta = radians((one.half_angle_deg + other.half_angle_deg) / 2.0)
    gap = radians(abs(change)) * width_mm / cos(theta)
    opens: Opens = "nowhere" if gap == 0.0 else ("outside" if change < 0.0 else "inside")
    return SeasonGap(gap, opens, change / 2.0)


def worst_season_gap(
    wood: Species,
    segments: int,
    width_mm: float,
    built_percent: float,
    seasons_percent: Iterable[float],
    grain: Grain = "flat",
) -> SeasonGap:
    """The widest gap over the moistures of the seasons, from the moisture when it was built.

    Raises MissingPropertyError where the wood's shrinkage is not known.
    """
    gaps = [
        season_gap(segments, width_mm, relative_change(wood, built_percent, moisture, grain))
        for moisture in seasons_percent
    ]
    return max(gaps, key=lambda gap: gap.gap_mm, default=SeasonGap(0.0, "nowhere", 0.0))


def disc_over_ring_mm(radius_mm: float, s: float) -> float:
    """How much a disc outgrows the ring on it across its grain: s·2R on the diameter."""
    return s * 2.0 * radius_mm


def floating_gap_mm(disc_diameter_mm: float, seasons: Sequence[float]) -> float:
    """What a recess must be wider than the disc that floats in it, mm on the diameter.

    `seasons` are the relative changes of the disc from when it is fitted; the wettest counts.
    """
    return disc_diameter_mm * max([0.0, *seasons])


def stave_over_ring_mm(radius_mm: float, s: float) -> float:
    """How much the radius of upright staves outgrows that of a flat ring: s·R."""
    return s * radius_mm
