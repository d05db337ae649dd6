"""The whole document: what is made, of which parts, in which shop."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from server.craft.document.assembly import Joint, Stack
from server.craft.document.base import Doc, Name, NotNegative
from server.craft.document.part import Part
from server.craft.document.shop import (
    YEAR,
    Allowance,
    Lathe,
    OwnGlue,
    Room,
    Saw,
    Season,
)
from server.craft.document.words import say
from server.craft.findings import LIMITS
from server.craft.wood.user_woods import UserWood

MOST_PARTS = 20


def _known_limit(code: str) -> str:
    if code not in LIMITS:
        raise say("No check with a limit has this code.")
    return code


class Piece(Doc):
    """What is being made. Ids are unique within it, whatever they name."""

    format: Literal["ringwright.piece"]
    version: Literal[1]
    name: Name
    display_units: Literal["in", "mm"] = "mm"
    saw: Saw = Saw()
    allowance: Allowance = Allowance()
    lathe: Lathe = Lathe()
    room: Room = Room()
    climate: Annotated[tuple[Season, ...], Field(max_length=100)] = YEAR
    woods: Annotated[tuple[UserWood, ...], Field(max_length=1000)] = ()
    glues: Annotated[tuple[OwnGlue, ...], Field(max_length=100)] = ()
    parts: Annotated[tuple[Part, ...], Field(min_length=1, max_length=MOST_PARTS)]
    joints: Annotated[tuple[Joint, ...], Field(max_length=100)] = ()
    stacks: Annotated[tuple[Stack, ...], Field(max_length=1000)] = ()
    limits: dict[Annotated[str, AfterValidator(_known_limit)], NotNegative] = Field(
        default_factory=dict
    )

    def part(self, part_id: str) -> Part:
        """The part of that id. Raises KeyError where there is none."""
        return next(part for part in self.parts if part.id == part_id)

    def ids(self) -> Iterator[tuple[str, str]]:
        """Each id of the document with the JSON pointer to it."""
        for i, wood in enumerate(self.woods):
            yield wood.id, f"/woods/{i}/id"
        for i, part in enumerate(self.parts):
            yield part.id, f"/parts/{i}/id"
            for j, ring in enumerate(part.rings):
                yield ring.id, f"/parts/{i}/rings/{j}/id"
        for i, joint in enumerate(self.joints):
            yield joint.id, f"/joints/{i}/id"
        for i, stack in enumerate(self.stacks):
            yield stack.id, f"/stacks/{i}/id"
