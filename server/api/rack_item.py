"""What may lie on the rack, read strictly. Sizes in mm, moisture in per cent."""

from typing import Annotated, Literal

from pydantic import Field

from server.craft.document.base import Distance, Doc, Id, MoisturePercent, Name, NotNegative, Size
from server.craft.document.base import Text as AnyText
from server.craft.saw.request import MOST_LEAVES

# Boards are longer than anything that is turned from them.
BoardLength = Annotated[float, Field(ge=0.1, le=20_000, allow_inf_nan=False)]
BoardPlace = Annotated[float, Field(ge=0, le=20_000, allow_inf_nan=False)]


class Defect(Doc):
    """A rectangle that nothing is cut from; x along the grain, y across it."""

    x_mm: BoardPlace
    y_mm: BoardPlace
    length_mm: BoardLength
    width_mm: BoardLength


class RackItemIn(Doc):
    """A board, strip, offcut or spare ring."""

    id: Id | None = None
    kind: Literal["board", "strip", "offcut", "spare-ring"] = "board"
    wood: Id
    name: AnyText | None = None
    note: AnyText | None = None
    place: AnyText | None = None
    thickness_mm: Size
    width_mm: BoardLength | None = None
    length_mm: BoardLength | None = None
    count: Annotated[int, Field(ge=0, le=100_000)] = 1
    price_per_board_foot: NotNegative | None = None
    offcut: bool | None = None
    defects: Annotated[list[Defect], Field(max_length=1000)] | None = None
    end_trim_mm: Distance | None = None
    nominal_thickness_mm: Size | None = None
    moisture_percent: MoisturePercent | None = None
    grain: Literal["flat", "quarter", "rift"] | None = None
    leaves: Annotated[int, Field(ge=1, le=MOST_LEAVES)] | None = None
    mitre_deg: Annotated[float, Field(ge=0, lt=90, allow_inf_nan=False)] | None = None
    outside_diameter_mm: Size | None = None
    inside_diameter_mm: Distance | None = None
    segments: Annotated[int, Field(ge=3, le=360)] | None = None
    woods: Annotated[list[Name], Field(max_length=360)] | None = None
    photo: AnyText | None = None
