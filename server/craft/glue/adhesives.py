"""The glues that the plan knows, each time with where it comes from. The label governs."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any, Protocol

from server.craft.errors import CraftError
from server.craft.tables import packaged_rows
from server.craft.wood.sources import Source, SourceKind, users

DEFAULT_GLUE = "pva-yellow"
NUMBERS = ("press_minutes", "rest_minutes", "cure_hours", "least_temperature_c", "open_minutes")

_PACKAGE = "server.craft.glue"


class UnknownAdhesiveError(CraftError):
    """No glue of this id."""


class OwnAdhesive(Protocol):
    """A glue of the user's own as a drawing carries it, from its label."""

    @property
    def id(self) -> str:
        """Its id."""

    @property
    def name(self) -> str | None:
        """Its name, if it has one beside its id."""

    @property
    def press_minutes(self) -> float:
        """Minutes under pressure."""

    @property
    def rest_minutes(self) -> float:
        """Minutes of rest before the next ring."""

    @property
    def cure_hours(self) -> float:
        """Hours of cure before turning."""

    @property
    def least_temperature_c(self) -> float:
        """The least temperature, °C."""

    @property
    def open_minutes(self) -> float:
        """Minutes from spreading to closing."""


@dataclass(frozen=True, slots=True)
class Adhesive:
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


def adhesive(glue_id: str) -> Adhesive:
    """The glue of that id. Raises UnknownAdhesiveError."""
    try:
        return _adhesives()[glue_id]
    except KeyError:
        raise UnknownAdhesiveError(f"No glue is called “{glue_id}” here.") from None


def with_own_adhesives(own: Iterable[OwnAdhesive]) -> Mapping[str, Adhesive]:
    """The built-in glues and the user's own by id; the user's label stands over ours."""
    return MappingProxyType({**_adhesives(), **{one.id: _own(one) for one in own}})


def all_adhesives() -> tuple[Adhesive, ...]:
    """Every glue, the usual one first."""
    return tuple(_adhesives().values())


def _own(label: OwnAdhesive) -> Adhesive:
    return Adhesive(
        id=label.id,
        name=label.name or label.id.replace("-", " "),
        hardens="as its label says",
        waterborne=False,
        note="",
        press_minutes=label.press_minutes,
        rest_minutes=label.rest_minutes,
        cure_hours=label.cure_hours,
        least_temperature_c=label.least_temperature_c,
        open_minutes=label.open_minutes,
        sources=MappingProxyType(dict.fromkeys(NUMBERS, users("From the glue's label"))),
    )


@cache
def _adhesives() -> Mapping[str, Adhesive]:
    texts = {row["source"]: row["text"] for row in packaged_rows(_PACKAGE, "sources.csv")}
    numbers: dict[str, dict[str, Any]] = {}
    sources: dict[str, dict[str, Source]] = {}
    for row in packaged_rows(_PACKAGE, "values.csv"):
        numbers.setdefault(row["glue"], {})[row["quantity"]] = float(row["value"])
        source = Source(SourceKind(row["kind"]), texts[row["source"]])
        sources.setdefault(row["glue"], {})[row["quantity"]] = source
    glues = {
        row["id"]: Adhesive(
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
