"""A thing for the rack as it is typed, in a form or in a row of a table, and read."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from server.craft.saw.request import MOST_LEAVES
from server.web.fields import Fields

KINDS = (
    ("board", "Board"),
    ("strip", "Strip"),
    ("offcut", "Offcut"),
    ("spare-ring", "Spare ring"),
)
GRAINS = (("", "not known"), ("flat", "flat-sawn"), ("quarter", "quarter-sawn"), ("rift", "rift"))
FIELDS = (
    "kind",
    "wood",
    "name",
    "place",
    "thickness_mm",
    "width_mm",
    "length_mm",
    "count",
    "price_per_board_foot",
    "nominal_thickness_mm",
    "moisture_percent",
    "grain",
    "end_trim_mm",
    "leaves",
    "segments",
    "outside_diameter_mm",
    "inside_diameter_mm",
    "woods",
    "defects",
    "note",
)
"""What a form and a table know of a thing, in the order of the table's columns."""

LONGEST_MM = 20_000.0
LARGEST_MM = 3_000.0
MOST = 100_000
MOST_DEFECTS = 1_000
DEFECT_FIELDS = ("d_x", "d_y", "d_long", "d_wide")


def read_item(fields: Fields, woods: Collection[str]) -> dict[str, Any]:
    """The document of what was typed; what is wrong stands in `fields.errors` by name."""
    kind = fields.choice("kind", [value for value, _ in KINDS])
    document: dict[str, Any] = {
        "kind": kind,
        "wood": read_wood(fields, "wood", woods),
        "name": fields.text("name", required=False),
        "place": fields.text("place", required=False),
        "note": fields.text("note", required=False, longest=2_000),
        "thickness_mm": fields.length("thickness_mm", high=LARGEST_MM),
        "count": fields.whole("count", low=0, high=MOST),
        "price_per_board_foot": fields.number(
            "price_per_board_foot", low=0, high=1e9, required=False
        ),
        "moisture_percent": fields.number("moisture_percent", low=0, high=200, required=False),
        "grain": _grain(fields),
    }
    if kind == "spare-ring":
        document |= _ring(fields, woods)
    else:
        document |= _lumber(fields, kind)
    return {name: value for name, value in document.items() if value not in (None, "", [])}


def read_wood(fields: Fields, name: str, woods: Collection[str]) -> str:
    """A wood that is known here."""
    wood = fields.text(name)
    if wood and wood not in woods:
        fields.wrong(name, f"There is no wood “{wood[:40]}” here. Add it under Own woods.")
    return wood


def _grain(fields: Fields) -> str | None:
    if not fields.has("grain"):
        return None
    return fields.choice("grain", [value for value, _ in GRAINS[1:]])


def _lumber(fields: Fields, kind: str) -> dict[str, Any]:
    wide = fields.length("width_mm", high=LONGEST_MM)
    long = fields.length("length_mm", high=LONGEST_MM)
    lumber: dict[str, Any] = {
        "width_mm": wide,
        "length_mm": long,
        "nominal_thickness_mm": fields.length(
            "nominal_thickness_mm", high=LARGEST_MM, required=False
        ),
        "end_trim_mm": fields.length("end_trim_mm", low=0, high=LARGEST_MM, required=False),
        "leaves": _leaves(fields),
        "defects": [defect for _, defect in _defects(fields, long, wide)],
    }
    if kind == "offcut":
        lumber["offcut"] = True
    return lumber


def _leaves(fields: Fields) -> int | None:
    """Into how many leaves it is to be resawn; none where it stays as it is."""
    if not fields.has("leaves"):
        return None
    leaves = fields.whole("leaves", low=1, high=MOST_LEAVES)
    return leaves if leaves != 1 else None


def _ring(fields: Fields, woods: Collection[str]) -> dict[str, Any]:
    across = fields.length("outside_diameter_mm", high=LARGEST_MM)
    hole = fields.length("inside_diameter_mm", low=0, high=LARGEST_MM)
    if across is not None and hole is not None and hole >= across:
        fields.wrong("inside_diameter_mm", "The hole is wider than the ring.")
    named = [name for text in fields.all("woods") for name in text.replace(",", " ").split()]
    for name in named:
        if name not in woods:
            fields.wrong("woods", f"There is no wood “{name[:40]}” here.")
    return {
        "segments": fields.whole("segments", low=3, high=360),
        "outside_diameter_mm": across,
        "inside_diameter_mm": hole,
        "woods": named[:360] or [fields.typed.get("wood", "").strip()],
    }


def defect_rows(fields: Fields) -> list[tuple[str, str, str, str]]:
    """The four boxes of each defect as typed; rows left empty are dropped."""
    columns = [fields.all(name) for name in DEFECT_FIELDS]
    longest = min(max((len(column) for column in columns), default=0), MOST_DEFECTS)
    rows = []
    for number in range(longest):
        texts = [column[number].strip() if number < len(column) else "" for column in columns]
        if any(texts):
            rows.append((texts[0], texts[1], texts[2], texts[3]))
    return rows


def _defects(
    fields: Fields, long_mm: float | None, wide_mm: float | None
) -> Iterator[tuple[int, dict[str, float]]]:
    for number, texts in enumerate(defect_rows(fields)):
        row = Fields(
            {name: [text] for name, text in zip(DEFECT_FIELDS, texts, strict=True)}, fields.units
        )
        x = row.length("d_x", low=0, high=LONGEST_MM)
        y = row.length("d_y", low=0, high=LONGEST_MM)
        long = row.length("d_long", high=LONGEST_MM)
        wide = row.length("d_wide", high=LONGEST_MM)
        if x is None or y is None or long is None or wide is None:
            fields.wrong(f"defect-{number}", next(iter(row.errors.values())))
            continue
        if (long_mm is not None and x >= long_mm) or (wide_mm is not None and y >= wide_mm):
            fields.wrong(f"defect-{number}", "This lies beside the board.")
            continue
        yield number, {"x_mm": x, "y_mm": y, "length_mm": long, "width_mm": wide}


def kept_as(document: Mapping[str, Any], before: Mapping[str, Any] | None) -> dict[str, Any]:
    """The new document with what a form does not show of the old one: its photo, what is extra."""
    hidden = ("photo", "extra", "mitre_deg")
    old = {name: before[name] for name in hidden if before and before.get(name) is not None}
    return {**old, **document}
