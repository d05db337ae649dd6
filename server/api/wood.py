"""Woods, the moisture of wood, its movement, and glues."""

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field

from server.craft.errors import FieldError
from server.craft.glue.adhesives import Glue, all_glues
from server.craft.wood.moisture import equilibrium_moisture_percent, is_extrapolated
from server.craft.wood.movement import movement
from server.craft.wood.properties import Direction, MissingPropertyError, UnknownWoodError
from server.craft.wood.sources import Source
from server.craft.wood.species import Species, all_species, find, with_user_woods
from server.craft.wood.user_woods import UserWood

router = APIRouter()

Temperature = Annotated[float, Query(ge=-60, le=150, allow_inf_nan=False)]
Humidity = Annotated[float, Query(ge=0, le=100, allow_inf_nan=False)]
Width = Annotated[float, Field(ge=0.1, le=3000, allow_inf_nan=False)]
Moisture = Annotated[float, Field(ge=0, le=300, allow_inf_nan=False)]


class SourceOut(BaseModel):
    """Where a number comes from: read, remembered, common practice or the user's."""

    kind: str
    text: str


class SpeciesOut(BaseModel):
    """One wood; null where nothing is known. `source` names the source of each number."""

    id: str
    name: str
    group: str
    botanical_name: str | None
    colour_hex: str
    grain_hex: str
    dust: str
    density_kg_m3: float
    specific_gravity_green: float | None
    shrinkage_radial_percent: float | None
    shrinkage_tangential_percent: float | None
    shrinkage_volumetric_percent: float | None
    change_radial_per_percent: float | None
    change_tangential_per_percent: float | None
    fibre_saturation_percent: float
    mor_mpa: float | None
    moe_gpa: float | None
    crush_across_mpa: float | None
    shear_mpa: float | None
    hardness_n: float | None
    price_per_board_foot: float | None
    source: dict[str, SourceOut]


class SpeciesList(BaseModel):
    """The built-in woods."""

    items: list[SpeciesOut]


class MoistureOut(BaseModel):
    """Equilibrium moisture; `extrapolated` outside the handbook's table."""

    moisture_percent: float
    extrapolated: bool


class MovementAsked(BaseModel):
    """A width measured at one moisture content that comes to another."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)

    wood: Annotated[str, Field(min_length=1, max_length=200)]
    width_mm: Width
    from_percent: Moisture
    to_percent: Moisture
    direction: Direction
    woods: Annotated[tuple[UserWood, ...], Field(max_length=1000, strict=False)] = ()
    extra: dict[str, Any] | None = None


class MovementOut(BaseModel):
    """The change, positive when it swells, and the equation of the handbook behind it."""

    change_mm: float
    relative: float
    method: str
    equation: str


class GlueOut(BaseModel):
    """One glue in a warm shop; its label governs. `source` names the source of each number."""

    id: str
    name: str
    hardens: str
    waterborne: bool
    note: str
    press_minutes: float
    rest_minutes: float
    cure_hours: float
    least_temperature_c: float
    open_minutes: float
    source: dict[str, SourceOut]


class GlueList(BaseModel):
    """The glues."""

    items: list[GlueOut]


@router.get("/api/wood/species")
def get_species() -> SpeciesList:
    """Every built-in wood."""
    return SpeciesList(items=[_species(wood) for wood in all_species()])


@router.get("/api/wood/moisture")
def get_moisture(temperature_c: Temperature, humidity_percent: Humidity) -> MoistureOut:
    """What wood comes to in that air."""
    return MoistureOut(
        moisture_percent=equilibrium_moisture_percent(temperature_c, humidity_percent),
        extrapolated=is_extrapolated(temperature_c, humidity_percent),
    )


@router.post("/api/wood/movement")
def post_movement(asked: MovementAsked) -> MovementOut:
    """How much that width moves."""
    try:
        wood = find(asked.wood, with_user_woods(asked.woods))
        moved = movement(
            wood, asked.width_mm, asked.from_percent, asked.to_percent, asked.direction
        )
    except (UnknownWoodError, MissingPropertyError) as unknown:
        raise FieldError("/wood", str(unknown)) from None
    return MovementOut(
        change_mm=moved.change_mm,
        relative=moved.relative,
        method=moved.method,
        equation=moved.equation,
    )


@router.get("/api/glues")
def get_glues() -> GlueList:
    """Every glue."""
    return GlueList(items=[_glue(one) for one in all_glues()])


def _species(wood: Species) -> SpeciesOut:
    fields = {name: getattr(wood, name) for name in SpeciesOut.model_fields if name != "source"}
    return SpeciesOut(**fields, source=_sources(wood.sources))


def _glue(one: Glue) -> GlueOut:
    fields = {name: getattr(one, name) for name in GlueOut.model_fields if name != "source"}
    return GlueOut(**fields, source=_sources(one.sources))


def _sources(by_name: Mapping[str, Source]) -> dict[str, SourceOut]:
    return {name: _source(source) for name, source in by_name.items()}


def _source(source: Source) -> SourceOut:
    return SourceOut(kind=source.kind, text=source.text)
