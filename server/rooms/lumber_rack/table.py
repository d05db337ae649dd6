"""The rack as a table for other programs: written, and read back row by row."""

import csv
import io
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from server.craft.stock import Stock
from server.rooms.lumber_rack.item import DEFECT_FIELDS, FIELDS, read_item
from server.web.fields import Fields

COLUMNS = ("id", *FIELDS)
MOST_ROWS = 10_000
_TEXTS = ("name", "place", "note")
_TOO_MANY = "more"
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row read: its line in the file, the document or what is wrong with it, by column."""

    line: int
    id: str
    document: dict[str, Any]
    errors: dict[str, str]


def written(stock: Iterable[Stock]) -> str:
    """Every thing on the rack with what is left of it; lengths in mm."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for row in stock:
        if row.left:
            writer.writerow(_cells(row))
    return out.getvalue()


def read(text: str, woods: Collection[str]) -> tuple[list[TableRow], str]:
    """The rows of a table, and what is wrong with the table as a whole.

    Unknown columns are told, so that no figure is left out by mistake; missing ones count as
    empty.
    """
    try:
        lines = io.StringIO(text.lstrip("\ufeff"), newline="")
        table = csv.DictReader(lines, dialect=_dialect(text), restkey=_TOO_MANY)
        names = [str(name).strip() for name in table.fieldnames or ()]
        unknown = [name for name in names if name not in COLUMNS]
        if unknown:
            return [], f"There is no column “{unknown[0][:40]}”. There are: {', '.join(COLUMNS)}."
        if "wood" not in names or "thickness_mm" not in names:
            return [], "The first line must name the columns, wood and thickness_mm among them."
        table.fieldnames = names
        rows = [
            _row(number, cells, woods)
            for number, cells in enumerate(table, start=2)
            if any((value or "") != "" for value in cells.values() if not isinstance(value, list))
        ]
    except csv.Error as error:
        return [], f"This is no table that can be read: {error}."
    if len(rows) > MOST_ROWS:
        return [], f"At most {MOST_ROWS} rows are taken at once."
    return _no_doubles(rows), ""


def reread(row: Stock, woods: Collection[str]) -> dict[str, Any]:
    """A thing as it would come back from its own row: to tell what a table changes."""
    rows, _ = read(written((row,)), woods)
    return rows[0].document if rows else {}


def _dialect(text: str) -> type[csv.Dialect]:
    class Table(csv.excel):
        delimiter = (
            ";" if text.split("\n", 1)[0].count(";") > text.split("\n", 1)[0].count(",") else ","
        )

    return Table


def _cells(row: Stock) -> dict[str, str]:
    document = row.document
    cells = {name: _cell(document.get(name)) for name in COLUMNS}
    cells |= {name: _safe(cells[name]) for name in _TEXTS}
    defects = document.get("defects") or ()
    return cells | {
        "id": row.id,
        "kind": row.kind,
        "count": str(row.left),
        "woods": " ".join(document.get("woods") or ()),
        "defects": "; ".join(
            " ".join(_cell(d[name]) for name in ("x_mm", "y_mm", "length_mm", "width_mm"))
            for d in defects
        ),
    }


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return repr(value).removesuffix(".0") if isinstance(value, float) else str(value)


def _safe(text: str) -> str:
    """A text that a spreadsheet would take for a formula gets an apostrophe before it."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def _plain(text: str) -> str:
    return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA) else text


def _row(line: int, cells: Mapping[str, Any], woods: Collection[str]) -> TableRow:
    typed = {name: [str(cells.get(name) or "")] for name in COLUMNS}
    for name in _TEXTS:
        typed[name] = [_plain(typed[name][0])]
    typed["kind"] = [typed["kind"][0].strip() or "board"]
    typed["count"] = [typed["count"][0].strip() or "1"]
    typed |= _defect_cells(typed.pop("defects")[0])
    fields = Fields(typed, "mm")
    document = read_item(fields, woods)
    errors = dict(fields.errors)
    if cells.get(_TOO_MANY):
        errors["id"] = "This row has more cells than the first line has names."
    return TableRow(line, typed["id"][0].strip()[:200], document, errors)


def _defect_cells(text: str) -> dict[str, list[str]]:
    columns: dict[str, list[str]] = {name: [] for name in DEFECT_FIELDS}
    for one in text.split(";"):
        numbers = one.split()
        if not numbers:
            continue
        for place, name in enumerate(DEFECT_FIELDS):
            columns[name].append(numbers[place] if place < len(numbers) else "")
    return columns


def _no_doubles(rows: list[TableRow]) -> list[TableRow]:
    seen: set[str] = set()
    for row in rows:
        if row.id and row.id in seen:
            row.errors["id"] = f"The id “{row.id[:40]}” is in the table twice."
        seen.add(row.id)
    return rows
