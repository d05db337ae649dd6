"""The journal as a table for a spreadsheet (RFC 4180, UTF-8)."""

import csv
import io
from collections.abc import Iterable

from server.exports.csv_tables import safe_cell
from server.rooms.journal.book import Line

COLUMNS = (
    "seq",
    "at",
    "piece",
    "kind",
    "subject",
    "words",
    "quantity",
    "value",
    "note",
    "device",
    "taken_back",
    "before_its_turn",
)


def journal_csv(lines: Iterable[Line]) -> str:
    """One row a line, oldest first; times by RFC 3339, values in mm, °C and %."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for line in lines:
        writer.writerow([safe_cell(cell) for cell in _row(line)])
    return text.getvalue()


def _row(line: Line) -> tuple[str | int | float | None, ...]:
    entry = line.entry
    quantity = entry.data.get("quantity")
    value = entry.data.get("value_mm", entry.data.get("value"))
    number = value if isinstance(value, int | float) and not isinstance(value, bool) else None
    return (
        entry.seq,
        line.at.isoformat(),
        line.title,
        entry.kind.value,
        entry.subject,
        line.words,
        quantity if isinstance(quantity, str) else None,
        number,
        line.note,
        line.who,
        "yes" if line.taken_back else "",
        line.early,
    )
