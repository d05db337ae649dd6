"""The built-in woods, read once from the tables packaged beside this file."""

from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType
from typing import Any

from server.craft.tables import packaged_rows
from server.craft.wood.properties import Dust, Species, UnknownWoodError
from server.craft.wood.sources import Source, SourceKind
from server.craft.wood.user_woods import UserWood, user_species

__all__ = [
    "DEFAULT_WOOD",
    "Species",
    "UnknownWoodError",
    "all_species",
    "find",
    "species",
    "with_user_woods",
]

DEFAULT_WOOD = "maple-sugar"

_PACKAGE = "server.craft.wood"
_DUST = {"": Dust.ANY_DUST, "sometimes": Dust.SOMETIMES, "often": Dust.OFTEN}


def species(wood_id: str) -> Species:
    """The built-in wood of that id. Raises UnknownWoodError."""
    return find(wood_id, _built_in())


def find(wood_id: str, woods: Mapping[str, Species]) -> Species:
    """The wood of that id among `woods`. Raises UnknownWoodError."""
    try:
        return woods[wood_id]
    except KeyError:
        raise UnknownWoodError(f"No wood is called “{wood_id}” here.") from None


def all_species() -> tuple[Species, ...]:
    """Every built-in wood, the ones of the workshop's own picture first."""
    return tuple(_built_in().values())


def with_user_woods(own: Iterable[UserWood | Mapping[str, Any]]) -> Mapping[str, Species]:
    """The built-in woods and the user's own by id; the user's word stands over ours.

    Raises FieldError at `/woods/0/name` and the like, also for an id that is given twice.
    """
    return MappingProxyType({**_built_in(), **user_species(own)})


@cache
def _built_in() -> Mapping[str, Species]:
    texts = {row["source"]: row["text"] for row in packaged_rows(_PACKAGE, "sources.csv")}
    numbers: dict[str, dict[str, Any]] = {}
    sources: dict[str, dict[str, Source]] = {}
    for row in packaged_rows(_PACKAGE, "values.csv"):
        wood, quantity = row["wood"], row["quantity"]
        numbers.setdefault(wood, {})[quantity] = float(row["value"])
        source = Source(SourceKind(row["kind"]), texts[row["source"]])
        sources.setdefault(wood, {})[quantity] = source
    woods = {
        row["id"]: _wood(row, numbers[row["id"]], sources[row["id"]])
        for row in packaged_rows(_PACKAGE, "woods.csv")
    }
    return MappingProxyType(woods)


def _wood(
    row: Mapping[str, str], numbers: dict[str, Any], sources: Mapping[str, Source]
) -> Species:
    return Species(
        id=row["id"],
        name=row["name"],
        group=row["group"],
        colour_hex=row["colour_hex"],
        grain_hex=row["grain_hex"],
        botanical_name=row["botanical_name"] or None,
        dust=_DUST[row["dust"]],
        sources=MappingProxyType(dict(sources)),
        **numbers,
    )
