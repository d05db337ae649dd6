"""What the saw is asked: strips to cut, the rack to cut them from, and the saw's own habits."""

import math
from typing import Annotated

from pydantic import Field

from server.craft.document.base import Distance, Doc, Id, MoisturePercent, NotNegative, Size, Text
from server.craft.document.shop import Saw
from server.craft.errors import FieldError

LONGEST_BOARD_MM = 30_000.0
MOST_LEAVES = 20
_TIP_SLACK_MM = 0.3
"""A pie segment's width is rounded up to what a fence reads: its tip may cross by this much."""

BoardLength = Annotated[float, Field(ge=0.1, le=LONGEST_BOARD_MM, allow_inf_nan=False)]
Along = Annotated[float, Field(ge=0, le=LONGEST_BOARD_MM, allow_inf_nan=False)]
Mitre = Annotated[float, Field(ge=0, lt=89, allow_inf_nan=False)]
Bevel = Annotated[float, Field(ge=-90, le=90, allow_inf_nan=False)]


class Strip(Doc):
    """Segments of one kind to cut, as the plan lists them. `length_mm` and
    `inner_edge_mm` follow from the rest and are not read."""

    id: Id
    part: Text | None = None
    ring: Text | None = None
    kind: Text = "segment"
    wood: Id
    thickness_mm: Size
    width_mm: Size
    mitre_deg: Mitre = 0.0
    bevel_deg: Bevel = 0.0
    outer_edge_mm: BoardLength
    inner_edge_mm: Annotated[float, Field(allow_inf_nan=False)] | None = None
    count: Annotated[int, Field(ge=0, le=100_000)]
    length_mm: NotNegative | None = None


class Defect(Doc):
    """A rectangle of the board that no segment may come from: x along the grain, y across."""

    x_mm: Along
    y_mm: Along
    length_mm: Along
    width_mm: Along


class Board(Doc):
    """A board, strip or offcut on the rack. `end_trim_mm` goes before the saw's.

    With `leaves` above 1 it is resawn into so many of equal thickness before anything else.
    """

    id: Id
    wood: Id
    thickness_mm: Size
    width_mm: Size
    length_mm: BoardLength
    count: Annotated[int, Field(ge=0, le=10_000)] = 1
    price_per_board_foot: NotNegative = 0.0
    offcut: bool = False
    defects: list[Defect] = Field(default_factory=list)
    end_trim_mm: Distance | None = None
    nominal_thickness_mm: Size | None = None
    moisture_percent: MoisturePercent | None = None
    grain: Text | None = None
    leaves: Annotated[int, Field(ge=1, le=MOST_LEAVES)] = 1


class CuttingRequest(Doc):
    """The whole question. `time_limit_s` is what the search may take; the answer comes within 1 s
    more."""

    strips: Annotated[list[Strip], Field(max_length=20_000)]
    rack: Annotated[list[Board], Field(max_length=10_000)]
    saw: Saw = Saw()
    time_limit_s: Annotated[float, Field(ge=0, le=600, allow_inf_nan=False)] = 5.0


def check_request(request: CuttingRequest) -> None:
    """Raise `FieldError` with a JSON pointer for what no saw can do or no rack can hold."""
    _unique("strips", [strip.id for strip in request.strips])
    _unique("rack", [board.id for board in request.rack])
    for index, strip in enumerate(request.strips):
        _check_segment(f"/strips/{index}", strip)
    _check_kerfs(request)


def _unique(where: str, ids: list[str]) -> None:
    seen: set[str] = set()
    for index, known in enumerate(ids):
        if known in seen:
            raise FieldError(f"/{where}/{index}/id", f"“{known}” is there twice; ids are unique.")
        seen.add(known)


def _check_segment(where: str, strip: Strip) -> None:
    lean = math.tan(math.radians(strip.mitre_deg))
    if strip.outer_edge_mm - 2 * strip.width_mm * lean < -_TIP_SLACK_MM:
        raise FieldError(
            f"{where}/width_mm",
            "This strip is too wide for its outer edge: the two mitres would cross, and the inner "
            f"edge would be less than nothing. At most {strip.outer_edge_mm / (2 * lean):.2f} mm.",
        )


def _check_kerfs(request: CuttingRequest) -> None:
    # Spacers are ripped off a board's edge, thinner than the blade as they often are.
    widths = [strip.width_mm for strip in request.strips if strip.kind != "spacer"]
    if not widths:
        return
    narrowest = min(widths)
    saw = request.saw
    for name in ("blade_kerf_mm", "rip_kerf_mm", "cross_kerf_mm"):
        kerf_mm = getattr(saw, name)
        if kerf_mm >= narrowest:
            raise FieldError(
                f"/saw/{name}",
                f"A kerf of {kerf_mm:g} mm leaves nothing of a strip {narrowest:g} mm wide.",
            )
