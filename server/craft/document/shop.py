"""The shop that a piece is planned for: saw, lathe, room, climate, own woods and glues."""

from typing import Annotated

from pydantic import Field, StringConstraints

from server.craft.document.base import (
    Distance,
    Doc,
    Force,
    Name,
    NotNegative,
    Percent,
    Size,
    Temperature,
    Text,
)
from server.craft.glue.adhesives import NUMBERS, Glue
from server.craft.wood.sources import users

OwnId = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=80)]


class Saw(Doc):
    """Kerfs, trims and habits at the saw, in mm."""

    blade_kerf_mm: Distance = 2.4
    rip_kerf_mm: Distance = 2.4
    cross_kerf_mm: Distance = 3.0
    flip: bool = True
    end_trim_mm: Distance = 5.0
    plane_mm: Distance = 1.5
    shortest_strip_mm: Distance = 150.0
    hold_tail_mm: Distance = 0.0
    spare_segments: Annotated[int, Field(ge=0, le=1000)] = 0


class Allowance(Doc):
    """Wood left on for gluing errors (outside, inside) and for flattening a ring, in mm."""

    outside_mm: Distance = 0.0
    inside_mm: Distance = 0.0
    flatten_mm: Distance = 0.0


class Lathe(Doc):
    """What the lathe takes, and what it and one clamp press with."""

    swing_mm: Size = 300.0
    between_centres_mm: Size = 500.0
    press_force_n: Force = 1500.0
    clamp_force_n: Force = 800.0


class Room(Doc):
    """The shop's air while gluing."""

    temperature_c: Temperature = 18.0
    humidity_percent: Percent = 50.0


class Season(Doc):
    """The air where the finished piece lives, at one time of the year."""

    name: Text = ""
    temperature_c: Temperature
    humidity_percent: Percent


YEAR = (
    Season(name="winter", temperature_c=20.0, humidity_percent=30.0),
    Season(name="summer", temperature_c=24.0, humidity_percent=65.0),
)


class OwnGlue(Doc):
    """A glue of the user's own, from its label."""

    id: OwnId
    name: Name | None = None
    press_minutes: NotNegative
    rest_minutes: NotNegative
    cure_hours: NotNegative
    least_temperature_c: Temperature
    open_minutes: NotNegative

    def as_glue(self) -> Glue:
        """The glue as the craft works with it, its times marked as the user's."""
        return Glue(
            id=self.id,
            name=self.name or self.id,
            hardens="",
            waterborne=False,
            note="",
            press_minutes=self.press_minutes,
            rest_minutes=self.rest_minutes,
            cure_hours=self.cure_hours,
            least_temperature_c=self.least_temperature_c,
            open_minutes=self.open_minutes,
            sources=dict.fromkeys(NUMBERS, users()),
        )
