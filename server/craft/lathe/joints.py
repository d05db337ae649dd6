"""Joints from what was measured: the tenon to turn for a bored mortise, the stem's length."""

from dataclasses import dataclass

from server.craft.document.assembly import Joint
from server.craft.errors import CraftError

MORTISE = "mortise_diameter"
"""What is measured of a mortise: its diameter, subject the joint."""

RUN_OUT = "run_out"
"""How far work that was set again runs out, mm: the swing of a dial, or the gap at a pointer."""

MOST_RUN_OUT_MM = 0.2
"""Ours, by common practice: bored farther off, a mortise sets the stem visibly askew."""

MORTISE_DEPTH = "mortise_depth"
TENON = "tenon_diameter"
LOOSEST_MM = 0.3
"""Common practice: a yellow glue fills no more than about this, on the diameter."""

SNUGGEST_MM = 0.05
"""Common practice: tighter than this scrapes the glue off, on the diameter."""


@dataclass(frozen=True, slots=True)
class TenonToTurn:
    """A tenon for a mortise that was measured, mm. A tenon between least and most fits."""

    diameter_mm: float
    least_mm: float
    most_mm: float
    length_mm: float

    def judge(self, measured_mm: float) -> str:
        """`fits`, `thick` (turn off more) or `thin` (will not hold)."""
        if measured_mm > self.most_mm:
            return "thick"
        return "thin" if measured_mm < self.least_mm else "fits"


def tenon_to_turn(
    joint: Joint, measured_mortise_mm: float, measured_depth_mm: float | None = None
) -> TenonToTurn:
    """The tenon for the mortise as bored: clearance off its diameter, end clearance off its depth.

    Without a measured depth the drawn one counts. Raises `CraftError` for a mortise that no tenon
    can be turned for.
    """
    diameter = measured_mortise_mm - joint.clearance_mm
    depth = joint.mortise_depth_mm if measured_depth_mm is None else measured_depth_mm
    length = min(joint.depth_mm, depth - joint.end_clearance_mm)
    if diameter <= 0 or length <= 0:
        raise CraftError("This mortise is too small for any tenon. Measure it again.")
    return TenonToTurn(
        diameter_mm=diameter,
        least_mm=measured_mortise_mm - max(LOOSEST_MM, joint.clearance_mm),
        most_mm=measured_mortise_mm - min(SNUGGEST_MM, joint.clearance_mm),
        length_mm=length,
    )


SPARE_MM = 10.0
"""Left on a blank at each end for the centres and the parting: common practice."""


@dataclass(frozen=True, slots=True)
class StemToTurn:
    """A stem between two measured parts, mm: what is seen of it, with its tenons, and the blank."""

    visible_mm: float
    with_tenons_mm: float
    blank_mm: float


def stem_to_turn(
    height_mm: float,
    base_mm: float,
    bowl_mm: float,
    tenons_mm: tuple[float, ...],
    trim_mm: float = SPARE_MM,
) -> StemToTurn:
    """The stem that brings the whole to `height_mm`, for base and bowl as measured.

    `base_mm` is from the table to the shoulder the stem stands on, `bowl_mm` from the shoulder
    under the bowl to its rim; the blank has `trim_mm` to spare at each end. Raises `CraftError`
    when base and bowl alone are as high as that.
    """
    visible = height_mm - base_mm - bowl_mm
    if visible <= 0:
        raise CraftError(
            "Base and bowl together are as high as the whole piece is to be: no stem is left."
        )
    turned = visible + sum(tenons_mm)
    return StemToTurn(visible, turned, turned + 2 * trim_mm)
