"""The user's own woods: dyed laminate, plywood, acrylic, metal, or a measured board."""

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from server.craft.errors import FieldError
from server.craft.wood.properties import NUMBERS, Dust, Species
from server.craft.wood.sources import Source, common_practice, remembered, users

MIDDLING_DENSITY_KG_M3 = 700.0
HANDBOOK_FIBRE_SATURATION_PERCENT = 30.0

_ASSUMED_DENSITY = common_practice("Not given: a middling hardwood is assumed")
_ASSUMED_SATURATION = remembered(
    "USDA FPL Wood Handbook, chapter 4: 30 % where the fibre saturation point is not known"
)
_UNMOVED = common_practice("Metal and resin do not move with moisture")

_Shrinkage = Annotated[float, Field(ge=0, le=40, allow_inf_nan=False)]
_Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
_Hex = Annotated[str, Field(pattern=r"^#[0-9a-fA-F]{6}$")]


class UserWood(BaseModel):
    """A wood as the piece document carries it. Units as in `Species`; only the id is a must.

    What is not given stays unknown, but for density, where a middling hardwood is assumed and
    marked so, because every piece wants a mass, and for metal and resin, which do not move.
    """

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")

    id: Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=80)]
    name: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    group: Literal[
        "hardwood", "softwood", "imported", "laminate", "plywood", "resin", "metal", "other"
    ] = "other"
    colour_hex: _Hex = "#c9b28a"
    grain_hex: _Hex = "#97805a"
    botanical_name: Annotated[str, Field(max_length=120)] | None = None
    density_kg_m3: Annotated[float, Field(gt=0, le=25_000, allow_inf_nan=False)] | None = None
    specific_gravity_green: _Positive | None = None
    fibre_saturation_percent: Annotated[float, Field(ge=15, le=50, allow_inf_nan=False)] | None = (
        None
    )
    shrinkage_radial_percent: _Shrinkage | None = None
    shrinkage_tangential_percent: _Shrinkage | None = None
    shrinkage_volumetric_percent: _Shrinkage | None = None
    change_radial_per_percent: (
        Annotated[float, Field(ge=0, le=0.02, allow_inf_nan=False)] | None
    ) = None
    change_tangential_per_percent: (
        Annotated[float, Field(ge=0, le=0.02, allow_inf_nan=False)] | None
    ) = None
    mor_mpa: _Positive | None = None
    moe_gpa: _Positive | None = None
    crush_across_mpa: _Positive | None = None
    shear_mpa: _Positive | None = None
    hardness_n: _Positive | None = None
    price_per_board_foot: Annotated[float, Field(ge=0, allow_inf_nan=False)] | None = None
    dust: Dust = Field(default=Dust.ANY_DUST, strict=False)
    source: dict[str, Any] | str | None = None
    extra: dict[str, Any] | None = None

    def as_species(self) -> Species:
        """The wood as the craft works with it, its numbers marked as the user's."""
        given = {name: getattr(self, name) for name in NUMBERS}
        numbers = {name: float(value) for name, value in given.items() if value is not None}
        sources: dict[str, Source] = dict.fromkeys(numbers, users())
        for name, value, source in self._assumed():
            if name not in numbers:
                numbers[name], sources[name] = value, source
        return Species(
            id=self.id,
            name=self.name or self.id.replace("-", " "),
            group=self.group,
            colour_hex=self.colour_hex,
            grain_hex=self.grain_hex,
            botanical_name=self.botanical_name,
            dust=self.dust,
            built_in=False,
            sources=MappingProxyType(sources),
            **numbers,
        )

    def _assumed(self) -> Iterator[tuple[str, float, Source]]:
        yield "density_kg_m3", MIDDLING_DENSITY_KG_M3, _ASSUMED_DENSITY
        yield "fibre_saturation_percent", HANDBOOK_FIBRE_SATURATION_PERCENT, _ASSUMED_SATURATION
        if self.group in ("metal", "resin"):
            yield "shrinkage_radial_percent", 0.0, _UNMOVED
            yield "shrinkage_tangential_percent", 0.0, _UNMOVED


def user_species(own: Iterable[UserWood | Mapping[str, Any]]) -> dict[str, Species]:
    """The user's woods by id. Raises FieldError naming the first field that is wrong."""
    woods: dict[str, Species] = {}
    for index, given in enumerate(own):
        wood = given if isinstance(given, UserWood) else _checked(index, given)
        if wood.id in woods:
            raise FieldError(f"/woods/{index}/id", f"The wood “{wood.id}” is given twice.")
        woods[wood.id] = wood.as_species()
    return woods


def _checked(index: int, given: Mapping[str, Any]) -> UserWood:
    try:
        return UserWood.model_validate(dict(given))
    except ValidationError as wrong:
        first = wrong.errors()[0]
        path = "".join(f"/{step}" for step in first["loc"])
        raise FieldError(f"/woods/{index}{path}", first["msg"]) from None
