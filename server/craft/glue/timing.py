"""Minutes in the press, rest, cure and open time, by glue and temperature.

Common practice throughout: the glue's label governs.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from server.craft.glue.adhesives import Glue
from server.craft.wood.sources import common_practice

SLOWER_BELOW_C = 18.0
QUICKER_ABOVE_C = 24.0
DOUBLING_C = 10.0
SPREADING_SECONDS = 10.0
TEMPERATURE_SOURCE = common_practice(
    "Each 10 °C below a warm shop doubles press, rest and cure, each 10 °C above it halves "
    "the open time; the label governs"
)
SPREADING_SOURCE = common_practice("Ten seconds to spread one joint")


class Batch(StrEnum):
    """In what lots a ring is glued up so that the glue stays open."""

    WHOLE = "whole ring"
    HALVES = "halves"
    THIRDS = "thirds"
    PAIRS = "pairs"


@dataclass(frozen=True, slots=True)
class Times:
    """The times of one joint at one temperature. Too cold: they mean nothing, do not glue."""

    press_minutes: float
    rest_minutes: float
    cure_hours: float
    open_minutes: float
    least_temperature_c: float
    too_cold: bool


@dataclass(frozen=True, slots=True)
class Spreading:
    """Whether one lot of joints is spread before the first goes dry."""

    batch: Batch
    joints: int
    minutes: float
    open_minutes: float
    fits: bool


def times(glue: Glue, temperature_c: float) -> Times:
    """Press, rest, cure and open time of that glue at that temperature.

    A warm shop, 18 to 24 °C, has the glue's own times. Colder lengthens press, rest and cure;
    hotter shortens the open time; nothing is gained the other way round.
    """
    slower = 2.0 ** (max(0.0, SLOWER_BELOW_C - temperature_c) / DOUBLING_C)
    quicker = 2.0 ** (max(0.0, temperature_c - QUICKER_ABOVE_C) / DOUBLING_C)
    return Times(
        press_minutes=glue.press_minutes * slower,
        rest_minutes=glue.rest_minutes * slower,
        cure_hours=glue.cure_hours * slower,
        open_minutes=glue.open_minutes / quicker,
        least_temperature_c=glue.least_temperature_c,
        too_cold=is_too_cold(glue, temperature_c),
    )


def is_too_cold(glue: Glue, temperature_c: float) -> bool:
    """Below the glue's least temperature; at it the glue still holds."""
    return temperature_c < glue.least_temperature_c


def spreading(
    glue: Glue,
    temperature_c: float,
    joints: int,
    seconds_per_joint: float = SPREADING_SECONDS,
    batch: Batch = Batch.WHOLE,
) -> Spreading:
    """The time to spread that many joints in one go against the glue's open time."""
    minutes = joints * seconds_per_joint / 60.0
    open_minutes = times(glue, temperature_c).open_minutes
    return Spreading(batch, joints, minutes, open_minutes, minutes <= open_minutes)


def suggested_batch(
    glue: Glue,
    temperature_c: float,
    segments: int,
    seconds_per_joint: float = SPREADING_SECONDS,
) -> Spreading:
    """The largest lot of a ring's joints that is closed in time, at worst pairs.

    A whole ring has as many joints as segments; a half or a third of it one joint less than
    it has segments (the larger part where they do not divide), its ends stay dry.
    """
    lots = (
        (Batch.WHOLE, segments),
        (Batch.HALVES, ceil(segments / 2) - 1),
        (Batch.THIRDS, ceil(segments / 3) - 1),
    )
    for batch, joints in lots:
        found = spreading(glue, temperature_c, max(1, joints), seconds_per_joint, batch)
        if found.fits:
            return found
    return spreading(glue, temperature_c, 1, seconds_per_joint, Batch.PAIRS)
