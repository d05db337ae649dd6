"""How parts go together and how rings go on their faceplates."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from server.craft.document.base import Distance, Doc, Id, Size, Text
from server.craft.document.words import say

End = Literal["top", "bottom"]


class JointEnd(Doc):
    """One end of one part."""

    part: Id
    end: End


class Joint(Doc):
    """A round mortise and tenon; the clearance is on the diameter."""

    id: Id
    tenon: JointEnd
    mortise: JointEnd
    diameter_mm: Size
    depth_mm: Size
    clearance_mm: Distance = 0.15
    end_clearance_mm: Distance = 1.5
    web_mm: Distance = 5.0

    @model_validator(mode="after")
    def _two_ends_that_meet(self) -> Self:
        if self.tenon.part == self.mortise.part:
            raise say("A part cannot be joined to itself.", "mortise", "part")
        if self.tenon.end == self.mortise.end:
            raise say("A top end goes together with a bottom end.", "mortise", "end")
        return self

    @property
    def mortise_depth_mm(self) -> float:
        """How deep is bored."""
        return self.depth_mm + self.end_clearance_mm

    @property
    def mortise_diameter_mm(self) -> float:
        """How wide is bored."""
        return self.diameter_mm + self.clearance_mm


class WasteBlock(Doc):
    """The block between faceplate and first ring."""

    diameter_mm: Size
    thickness_mm: Size


class Stack(Doc):
    """Rings in gluing order; `mounted` is the end of the part that sits on the waste block."""

    id: Id
    part: Id
    rings: Annotated[tuple[Id, ...], Field(max_length=1000)] = ()
    mounted: End = "bottom"
    name: Text = ""
    faceplate: Text | None = None
    waste_block: WasteBlock | None = None
    glue: Id | None = None

    @property
    def title(self) -> str:
        """What to call the stack."""
        return self.name or self.id
