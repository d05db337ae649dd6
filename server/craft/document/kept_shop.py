"""The shop as it is kept: what new pieces start from, and what lathe and glue bench reckon with."""

import json
from typing import Annotated, Any, Literal, Self

from pydantic import Field, StringConstraints, model_validator

from server.craft.document.base import Doc, Force, Name, NotNegative, Size
from server.craft.document.shop import YEAR, Allowance, Lathe, OwnGlue, Room, Saw, Season
from server.craft.document.words import say

TimeOfDay = Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]
"""A time of day as HH:MM; sorts as text."""

LEFT_ON = Allowance(outside_mm=3.0, inside_mm=3.0, flatten_mm=0.6)
"""Common practice for wood left on; new pieces start with it."""


class Faceplate(Doc):
    """Faceplates of one kind."""

    name: Name
    diameter_mm: Size | None = None
    count: Annotated[int, Field(ge=0, le=1000)] = 1


class JawSet(Doc):
    """A set of jaws: the diameters that it closes on and opens in."""

    name: Name
    closes_from_mm: Size | None = None
    closes_to_mm: Size | None = None
    opens_from_mm: Size | None = None
    opens_to_mm: Size | None = None

    @model_validator(mode="after")
    def _ranges_whole(self) -> Self:
        for way in ("closes", "opens"):
            low, high = getattr(self, f"{way}_from_mm"), getattr(self, f"{way}_to_mm")
            if (low is None) != (high is None):
                raise say("Give both ends of the range, or none.", f"{way}_to_mm")
            if low is not None and low > high:
                raise say("The range ends before it begins.", f"{way}_to_mm")
        return self


class ClampKind(Doc):
    """Clamps of one kind, and what one of them presses with."""

    name: Name
    count: Annotated[int, Field(ge=0, le=1000)] = 1
    force_n: Force | None = None


class Price(Doc):
    """What a wood costs to buy, by the thickness that it is sold in."""

    wood: Name
    price_per_board_foot: NotNegative
    thickness_mm: Size | None = None
    width_mm: Size | None = None
    length_mm: Annotated[float, Field(ge=0.1, le=30_000, allow_inf_nan=False)] | None = None


class WeeklyStay(Doc):
    """When the person is in the shop: `day` 0 is Monday, times of day as HH:MM, local."""

    day: Annotated[int, Field(ge=0, le=6)]
    starts: TimeOfDay
    ends: TimeOfDay

    @model_validator(mode="after")
    def _forwards(self) -> Self:
        if self.ends <= self.starts:
            raise say("This stay ends before it begins.", "ends")
        return self


class GluingHabits(Doc):
    """What the gluing schedule reckons with; no stays: always there."""

    presses: Annotated[int, Field(ge=1, le=20)] = 1
    turning_minutes: Annotated[float, Field(ge=0, le=10_000, allow_inf_nan=False)] = 120.0
    stays: Annotated[tuple[WeeklyStay, ...], Field(max_length=50)] = ()


class Shop(Doc):
    """One shop. Everything has a default, so that an empty document is a shop too."""

    display_units: Literal["in", "mm"] = "mm"
    saw: Saw = Saw()
    allowance: Allowance = LEFT_ON
    lathe: Lathe = Lathe()
    room: Room = Room()
    climate: Annotated[tuple[Season, ...], Field(max_length=100)] = YEAR
    faceplates: Annotated[tuple[Faceplate, ...], Field(max_length=100)] = ()
    jaws: Annotated[tuple[JawSet, ...], Field(max_length=100)] = ()
    clamps: Annotated[tuple[ClampKind, ...], Field(max_length=100)] = ()
    glues: Annotated[tuple[OwnGlue, ...], Field(max_length=100)] = ()
    prices: Annotated[tuple[Price, ...], Field(max_length=1000)] = ()
    gluing: GluingHabits = GluingHabits()


def shop_of(document: dict[str, Any]) -> Shop:
    """The shop that a JSON object describes. Raises pydantic's ValidationError."""
    return Shop.model_validate_json(json.dumps(document))
