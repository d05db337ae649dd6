"""A part: a body turned on its own."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from server.craft.document.base import Distance, Doc, Id, Text
from server.craft.document.profile import Profile
from server.craft.document.ring import Ring
from server.craft.document.words import say

MOST_RINGS = 1000
DEFAULT_WOOD = "maple-sugar"


class Part(Doc):
    """Ringed (made of rings), or turned from one solid: a spindle or a disc."""

    id: Id
    kind: Literal["ringed", "spindle", "disc"]
    outside: Profile
    inside: Profile | None = None
    name: Text = ""
    wood: Id | None = None
    floor_mm: Distance | None = None
    rings: Annotated[tuple[Ring, ...], Field(max_length=MOST_RINGS)] = ()

    @model_validator(mode="after")
    def _rings_only_where_ringed(self) -> Self:
        if self.kind != "ringed" and self.rings:
            raise say(f"A {self.kind} is turned from one solid and has no rings.", "rings")
        return self

    @property
    def own_wood(self) -> str:
        """The wood of whatever names none of its own."""
        return self.wood or DEFAULT_WOOD

    @property
    def own_floor_mm(self) -> float | None:
        """Below this nothing is hollow; None leaves it to the inside curve."""
        said = [self.floor_mm, self.inside.floor_mm if self.inside else None]
        given = [floor for floor in said if floor is not None]
        return max(given) if given else None

    @property
    def title(self) -> str:
        """What to call the part."""
        return self.name or self.id
