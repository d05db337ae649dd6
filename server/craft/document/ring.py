"""A ring as drawn: how it is divided, of what, and how it is turned against its neighbours."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from server.craft.document.base import (
    Angle,
    Distance,
    Doc,
    Id,
    MoisturePercent,
    Positive,
    Size,
    SpacerThickness,
)
from server.craft.document.words import say

FEWEST_SEGMENTS = 3
MOST_SEGMENTS = 360

RingKind = Literal["flat", "stave", "disc", "veneer"]
Grain = Literal["flat", "quarter", "rift"]


class Spacer(Doc):
    """A strip of `thickness_mm` glued into every joint of the ring."""

    thickness_mm: SpacerThickness
    wood: Id | None = None


class Gap(Doc):
    """An open joint: a wedge (`angle_deg`, radial faces) or parallel faces (`width_mm`)."""

    angle_deg: Annotated[float, Field(gt=0, le=360, allow_inf_nan=False)] | None = None
    width_mm: Size | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if (self.angle_deg is None) == (self.width_mm is None):
            raise say("Give the gap either angle_deg or width_mm, one of the two.")
        return self


class Plug(Doc):
    """A round plug that fills the centre of a ring."""

    diameter_mm: Size
    wood: Id | None = None


class Ring(Doc):
    """One ring. `thickness_mm` is finished and flattened; `phase` is in its own pitches."""

    id: Id
    thickness_mm: Size
    kind: RingKind = "flat"
    segments: Annotated[int, Field(ge=FEWEST_SEGMENTS, le=MOST_SEGMENTS)] = 12
    phase: Annotated[float, Field(ge=0, lt=1, allow_inf_nan=False)] = 0.0
    woods: Annotated[tuple[Id, ...], Field(min_length=1, max_length=MOST_SEGMENTS)] | None = None
    spacer: Spacer | None = None
    gap: Gap | None = None
    shares: Annotated[tuple[Positive, ...], Field(min_length=1)] | None = None
    plug: Plug | None = None
    lean_deg: Annotated[float, Field(ge=-90, le=90, allow_inf_nan=False)] = 0.0
    grain_deg: Angle = 0.0
    floating_gap_mm: Distance = 0.0
    grain: Grain = "flat"
    moisture_percent: MoisturePercent | None = None
    board_width_mm: Size | None = None
    aligned_on_purpose: bool = False

    @model_validator(mode="after")
    def _divided_one_way(self) -> Self:
        if self.spacer is not None and self.gap is not None:
            raise say("A ring has spacers or open gaps in its joints, not both.", "gap")
        if self.shares is not None and len(self.shares) != self.segments:
            raise say(
                f"There are {len(self.shares)} shares for {self.segments} segments; "
                "give one share for each segment.",
                "shares",
            )
        return self

    @property
    def is_segmented(self) -> bool:
        """Whether the ring is made of segments at all."""
        return self.kind in ("flat", "stave")
