"""Where one is at the drawing board: which panel is open, which ring or part is chosen."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from urllib.parse import urlencode

from starlette.datastructures import QueryParams

from server.web.fields import Fields

PANELS = (
    "checks",
    "ring",
    "rings",
    "form",
    "pattern",
    "propose",
    "parts",
    "shop",
    "look",
    "drawings",
)
_KEYS = ("show", "ring", "rings", "part", "base", "against")


@dataclass(frozen=True, slots=True)
class Place:
    """Part of the page's address, so that a reload and a second device find the same.

    `rings` are the ids of several rings that are ticked, with commas between.
    `base` is the drawing that undo has gone back to; None when the newest one is being worked on.
    """

    show: str = "checks"
    ring: str | None = None
    rings: str | None = None
    part: str | None = None
    base: int | None = None
    against: int | None = None

    @staticmethod
    def from_query(query: QueryParams) -> "Place":
        """From the page's address; what makes no sense is left out."""
        return _place({key: query.get(key, "") for key in _KEYS})

    @staticmethod
    def from_fields(fields: Fields) -> "Place":
        """From the hidden fields that every form of the board carries."""
        return _place({key: fields.typed.get(f"at-{key}", "") for key in _KEYS})

    def query(self) -> str:
        """The address's query, empty for the plain board."""
        return _query(self)

    def hidden(self) -> list[tuple[str, str]]:
        """The hidden fields of a form."""
        return [
            (f"at-{key}", str(getattr(self, key)))
            for key in _KEYS
            if getattr(self, key) is not None
        ]

    def showing(self, show: str) -> "Place":
        """The same place with another panel open."""
        return replace(self, show=show)

    def at_ring(self, ring: str | None) -> "Place":
        """A ring's own panel."""
        return replace(self, show="ring", ring=ring)

    @property
    def ticked(self) -> tuple[str, ...]:
        """The ids of the ticked rings."""
        return tuple((self.rings or "").split(",")) if self.rings else ()

    def ticking(self, rings: Iterable[str]) -> "Place":
        """Several rings ticked."""
        return replace(self, show="rings", rings=",".join(rings) or None)

    def seeing(self, ring: str | None) -> "Place":
        """The same panel with another ring looked at."""
        return replace(self, ring=ring)

    def at_part(self, part: str) -> "Place":
        """The same panel for another part."""
        return replace(self, part=part)

    def comparing(self, revision: int) -> "Place":
        """The newest drawing beside an older one."""
        return replace(self, show="drawings", against=revision)

    def at_newest(self) -> "Place":
        """As after a change: nothing is undone any more."""
        return replace(self, base=None)


@lru_cache(maxsize=2048)
def _query(place: Place) -> str:
    """Each link of a page writes it twice, and the next page has the same ones."""
    pairs = {key: getattr(place, key) for key in _KEYS if getattr(place, key) is not None}
    if pairs.get("show") == "checks":
        del pairs["show"]
    return f"?{urlencode(pairs)}" if pairs else ""


def _place(values: dict[str, str]) -> Place:
    return Place(
        show=values["show"] if values["show"] in PANELS else "checks",
        ring=values["ring"] or None,
        rings=values["rings"] or None,
        part=values["part"] or None,
        base=_number(values["base"]),
        against=_number(values["against"]),
    )


def _number(text: str) -> int | None:
    return int(text) if text.isdecimal() and len(text) < 10 else None
