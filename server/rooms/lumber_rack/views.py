"""The rack as the page shows it: by wood, every board to one scale, with its arithmetic."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from server.craft.saw.strips import SOLD_THICKNESSES, nominal_board_feet, tallied_board_feet
from server.craft.stock import Stock
from server.craft.units import Units, board_feet, format_length
from server.craft.wood.properties import Species
from server.exports.pictures.board_layout import BoardFigure, Place, board_layout
from server.exports.pictures.segment_ring import RingFigure, lying_ring
from server.exports.svg import to_svg
from server.web.lengths import diagonal

ROW_LONG = 430.0
SHEET_LONG = 640.0
_RING_SIZE, _RING_SCALE = 76.0, 0.6
_MM3_PER_M3 = 1e9
_DRAWN = 1_024
"""Pictures of boards that are kept from one look at the rack to the next."""
UNKNOWN = "#c9b28a"
KIND_WORDS = {"board": "board", "strip": "strip", "offcut": "offcut", "spare-ring": "spare ring"}


@dataclass(frozen=True, slots=True)
class Row:
    """One thing on the rack. `label` is written on what came back from the saw."""

    id: str
    kind: str
    name: str
    sizes: Markup
    facts: tuple[str, ...]
    place: str
    left: int
    used: int
    picture: Markup
    is_ring: bool
    label: str
    here: bool


@dataclass(frozen=True, slots=True)
class Group:
    """All of one wood, with its sum."""

    wood: str
    name: str
    colour: str
    board_feet: float
    cubic_metres: float
    worth: float
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Amounts:
    """The arithmetic of one board: board feet as it is, as sold, as a yard tallies; m³; money."""

    board_feet: float
    as_sold: float | None
    tallied: int | None
    cubic_metres: float
    worth: float


def groups(
    stock: Sequence[Stock], woods: Mapping[str, Species], units: Units, here: str | None
) -> tuple[Group, ...]:
    """The rack by wood, in the order of the woods' names; what is used up is left out."""
    on_rack = [row for row in stock if row.left > 0]
    longest = max((_number(row, "length_mm") for row in on_rack), default=0.0) or 1.0
    scale = ROW_LONG / longest
    names = sorted(
        {str(row.document.get("wood")) for row in on_rack}, key=lambda wood: _wood_name(wood, woods)
    )
    return tuple(
        _group(
            wood,
            [row for row in on_rack if row.document.get("wood") == wood],
            woods,
            units,
            scale,
            here,
        )
        for wood in names
    )


def amounts(document: Mapping[str, Any], count: int) -> Amounts | None:
    """What so many of this board hold; None for what is no board."""
    sizes = [document.get(size) for size in ("thickness_mm", "width_mm", "length_mm")]
    if document.get("kind") == "spare-ring" or not all(sizes):
        return None
    thick, wide, long = (float(size) for size in sizes if size is not None)
    nominal = document.get("nominal_thickness_mm")
    feet = board_feet(thick, wide, long) * count
    price = float(document.get("price_per_board_foot") or 0.0)
    return Amounts(
        board_feet=feet,
        as_sold=nominal_board_feet(float(nominal), wide, long) * count if nominal else None,
        tallied=tallied_board_feet(float(nominal), wide, long) * count if nominal else None,
        cubic_metres=thick * wide * long * count / _MM3_PER_M3,
        worth=feet * price,
    )


def board_picture(
    document: Mapping[str, Any], woods: Mapping[str, Species], scale: float, long: float
) -> Markup:
    """One board to this scale, its defects drawn."""
    wood = woods.get(str(document.get("wood")))
    figure = BoardFigure(
        title=f"{document.get('name') or KIND_WORDS.get(str(document.get('kind')), 'board')}",
        length_mm=float(document["length_mm"]),
        width_mm=float(document["width_mm"]),
        colour=wood.colour_hex if wood else UNKNOWN,
        grain=wood.grain_hex if wood else "#97805a",
        defects=tuple(
            Place(d["x_mm"], d["y_mm"], d["length_mm"], d["width_mm"])
            for d in document.get("defects") or ()
        ),
    )
    return _drawn(figure, long, scale)


@lru_cache(maxsize=_DRAWN)
def _drawn(figure: BoardFigure, long: float, scale: float) -> Markup:
    return to_svg(board_layout(figure, long=long, scale=scale), "stock")


def sold_options(units: Units) -> list[tuple[str, str]]:
    """Nominal thicknesses as hardwood is sold, for a choice."""
    return [("", "not sold by nominal thickness")] + [
        (f"{sold.rough_mm:g} mm", f"{sold.name}, {format_length(sold.rough_mm, units)} rough")
        for sold in SOLD_THICKNESSES
    ]


def wood_options(woods: Mapping[str, Species]) -> list[tuple[str, str]]:
    """Woods by name for a choice."""
    return [(wood.id, wood.name) for wood in sorted(woods.values(), key=lambda one: one.name)]


def _group(
    wood: str,
    stock: Iterable[Stock],
    woods: Mapping[str, Species],
    units: Units,
    scale: float,
    here: str | None,
) -> Group:
    order = {"board": 0, "strip": 1, "offcut": 2, "spare-ring": 3}
    rows = sorted(stock, key=lambda row: (order.get(row.kind, 9), -_number(row, "length_mm")))
    sums = [found for row in rows if (found := amounts(row.document, row.left))]
    known = woods.get(wood)
    return Group(
        wood=wood,
        name=_wood_name(wood, woods),
        colour=known.colour_hex if known else UNKNOWN,
        board_feet=sum(one.board_feet for one in sums),
        cubic_metres=sum(one.cubic_metres for one in sums),
        worth=sum(one.worth for one in sums),
        rows=tuple(_row(row, woods, units, scale, here) for row in rows),
    )


def _row(
    row: Stock, woods: Mapping[str, Species], units: Units, scale: float, here: str | None
) -> Row:
    document = row.document
    is_ring = row.kind == "spare-ring"
    return Row(
        id=row.id,
        kind=KIND_WORDS.get(row.kind, row.kind),
        name=str(document.get("name") or KIND_WORDS.get(row.kind, row.kind).capitalize()),
        sizes=_sizes(document, units),
        facts=tuple(_facts(row)),
        place=str(document.get("place") or ""),
        left=row.left,
        used=row.used,
        picture=_picture(document, woods, scale),
        is_ring=is_ring,
        label=row.id if row.came_from else "",
        here=row.id == here,
    )


def _picture(document: Mapping[str, Any], woods: Mapping[str, Species], scale: float) -> Markup:
    if document.get("kind") == "spare-ring":
        return ring_picture(document, woods)
    if not document.get("length_mm") or not document.get("width_mm"):
        return Markup("")
    return board_picture(document, woods, scale, ROW_LONG)


def ring_picture(document: Mapping[str, Any], woods: Mapping[str, Species]) -> Markup:
    """A spare ring from above; all to one scale as far as they fit."""
    if not document.get("outside_diameter_mm"):
        return Markup("")
    named = list(document.get("woods") or [document.get("wood")])
    colours = tuple(woods[n].colour_hex if n in woods else UNKNOWN for n in named)
    across = float(document["outside_diameter_mm"])
    hole = float(document.get("inside_diameter_mm") or 0.0)
    segments = int(document.get("segments") or 12)
    figure = RingFigure(
        str(document.get("name") or "Spare ring"), segments, across / 2, hole / 2, colours
    )
    return to_svg(lying_ring(figure, _RING_SCALE, _RING_SIZE), "spare")


def _sizes(document: Mapping[str, Any], units: Units) -> Markup:
    if document.get("kind") == "spare-ring":
        across, hole = document.get("outside_diameter_mm"), document.get("inside_diameter_mm")
        thick = _long(document.get("thickness_mm"), units)
        segments = str(document.get("segments", "?"))
        return Markup("Ø {} and {}, {} thick, {} segments").format(
            _long(across, units), _long(hole, units), thick, segments
        )
    names = ("thickness_mm", "width_mm", "length_mm")
    return Markup(" × ").join(_long(document.get(name), units) for name in names)


def _long(mm: Any, units: Units) -> Markup:
    """To a sixteenth of an inch, which is how a board is measured, or to a tenth of a mm."""
    if not isinstance(mm, int | float):
        return Markup("?")
    if units == "in":
        return diagonal(float(mm), "in", finest=16)
    return Markup(f"{float(mm):.1f}".rstrip("0").rstrip("."))


def _facts(row: Stock) -> Iterable[str]:
    document = row.document
    found = amounts(document, row.left)
    if found:
        yield f"{found.board_feet:.2f} bd ft"
        if found.worth:
            yield f"worth {found.worth:.2f}"
    if document.get("moisture_percent") is not None:
        yield f"{document['moisture_percent']:g} % moist"
    if document.get("grain"):
        yield f"{document['grain']}-sawn" if document["grain"] != "rift" else "rift"
    if document.get("defects"):
        count = len(document["defects"])
        yield f"{count} defect{'s' if count > 1 else ''}"


def _number(row: Stock, name: str) -> float:
    value = row.document.get(name)
    return float(value) if isinstance(value, int | float) else 0.0


def _wood_name(wood: str, woods: Mapping[str, Species]) -> str:
    return woods[wood].name if wood in woods else wood
