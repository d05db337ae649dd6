"""The glues that the plan knows, each time with where it comes from. The label governs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any

from server.craft.errors import CraftError
from server.craft.tables import packaged_rows
from server.craft.wood.sources import Source, SourceKind

DEFAULT_GLUE = "pva-yellow"
NUMBERS = ("press_minutes", "rest_minutes", "cure_hours", "least_temperature_c", "open_minutes")

_PACKAGE = "server.craft.glue"


class UnknownGlueError(CraftError):
    """No glue of this id."""


@dataclass(frozen=True, slots=True)
class Glue:
    """One glue in a warm shop: minutes under pressure, minutes of rest before the next ring
    loads the joint, hours of cure before it is turned, the least temperature, and the minutes
    from spreading to closing. `hardens` is how: drying, moisture or reaction.
    """

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
    sources: Mapping[str, Source] = field(default_factory=dict)


def glue(glue_id: str) -> Glue:
    """The glue of that id. Raises UnknownGlueError."""
    try:
        return _glues()[glue_id]
    except KeyError:
        raise UnknownGlueError(f"No glue is called “{glue_id}” here.") from None


def all_glues() -> tuple[Glue, ...]:
    """Every glue, the usual one first."""
    return tuple(_glues().values())


@cache
def _glues() -> Mapping[str, Glue]:
    texts = {row["source"]: row["text"] for row in packaged_rows(_PACKAGE, "sources.csv")}
    numbers: dict[str, dict[str, Any]] = {}
    sources: dict[str, dict[str, Source]] = {}
    for row in packaged_rows(_PACKAGE, "values.csv"):
        numbers.setdefault(row["glue"], {})[row["quantity"]] = float(row["value"])
        source = Source(SourceKind(row["kind"]), texts[row["source"]])
        sources.setdefault(row["glue"], {})[row["quantity"]] = source
    glues = {
        row["id"]: Glue(
            id=row["id"],
            name=row["name"],
            hardens=row["hardens"],
            waterborne=row["waterborne"] == "yes",
            note=row["note"],
            sources=MappingProxyType(sources[row["id"]]),
            **numbers[row["id"]],
        )
        for row in packaged_rows(_PACKAGE, "glues.csv")
    }
    return MappingProxyType(glues)
