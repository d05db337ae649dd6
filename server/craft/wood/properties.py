"""The woods that the plan knows: density, shrinkage, strength and colour, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from server.craft.errors import CraftError
from server.craft.wood.sources import Source

Direction = Literal["radial", "tangential"]

NUMBERS = (
    "density_kg_m3",
    "specific_gravity_green",
    "shrinkage_radial_percent",
    "shrinkage_tangential_percent",
    "shrinkage_volumetric_percent",
    "change_radial_per_percent",
    "change_tangential_per_percent",
    "fibre_saturation_percent",
    "mor_mpa",
    "moe_gpa",
    "crush_across_mpa",
    "shear_mpa",
    "hardness_n",
    "price_per_board_foot",
)


class Dust(StrEnum):
    """How often the dust of a wood is reported to sensitise. All wood dust harms."""

    ANY_DUST = "any dust harms"
    SOMETIMES = "sensitises some"
    OFTEN = "sensitises often"


class UnknownWoodError(CraftError):
    """No wood of this id, neither built in nor the user's own."""


class MissingPropertyError(CraftError):
    """The wood is known, but not the property that the question needs."""


@dataclass(frozen=True, slots=True)
class Species:
    """One wood, or a material used like one.

    Density and strength at 12 % moisture; shrinkage from green to ovendry in % of the green
    size; `change_*_per_percent` the relative change of size per 1 % of moisture between 6 and
    14 %; hardness across the side grain. `None` where nothing is known. `sources` has an
    entry for each number that is not `None`.
    """

    id: str
    name: str
    group: str
    colour_hex: str
    grain_hex: str
    density_kg_m3: float
    fibre_saturation_percent: float
    botanical_name: str | None = None
    specific_gravity_green: float | None = None
    shrinkage_radial_percent: float | None = None
    shrinkage_tangential_percent: float | None = None
    shrinkage_volumetric_percent: float | None = None
    change_radial_per_percent: float | None = None
    change_tangential_per_percent: float | None = None
    mor_mpa: float | None = None
    moe_gpa: float | None = None
    crush_across_mpa: float | None = None
    shear_mpa: float | None = None
    hardness_n: float | None = None
    price_per_board_foot: float | None = None
    dust: Dust = Dust.ANY_DUST
    built_in: bool = True
    sources: Mapping[str, Source] = field(default_factory=dict)

    def shrinkage_percent(self, direction: Direction) -> float | None:
        """Shrinkage from green to ovendry in that direction, % of the green size."""
        if direction == "radial":
            return self.shrinkage_radial_percent
        return self.shrinkage_tangential_percent

    def change_per_percent(self, direction: Direction) -> float | None:
        """Dimensional change coefficient in that direction, valid from 6 to 14 % moisture."""
        if direction == "radial":
            return self.change_radial_per_percent
        return self.change_tangential_per_percent

    @property
    def moves(self) -> bool:
        """Whether enough is known to say how this material moves with the seasons."""
        return (
            self.shrinkage_radial_percent is not None
            and self.shrinkage_tangential_percent is not None
        )

    @property
    def specific_gravity_12(self) -> float:
        """Specific gravity at 12 % moisture, ovendry mass on the volume at 12 %."""
        return self.density_kg_m3 / 1120.0


def numbers_of(wood: Species) -> dict[str, float]:
    """The numbers known of a wood by their names."""
    known = {name: getattr(wood, name) for name in NUMBERS}
    return {name: value for name, value in known.items() if value is not None}
