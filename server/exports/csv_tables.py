"""Tables for a spreadsheet (RFC 4180, UTF-8): rings and cuts under the plan's own field names.

Numbers are written whole, as the plan has them, with a point; an empty cell is a number that the
geometry does not have. A spreadsheet takes text that begins like a formula for one and runs it, so
that such text gets an apostrophe before it, which a spreadsheet reads as “this is text”.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import fields

from server.craft.results import Plan, RingPlan, StripRow

_FORMULA = re.compile(r"^[\s\x00-\x1f\u200b-\u200f\u2028-\u202e\ufeff]*[=+\-@＝＋－＠\t\r\n|%]")
"""How a cell begins that some spreadsheet would reckon with: full-width too, behind blanks too."""

_NESTED = frozenset({"segments"})
RING_FIELDS = tuple(field.name for field in fields(RingPlan) if field.name not in _NESTED)
STRIP_FIELDS = tuple(field.name for field in fields(StripRow))

Cell = str | int | float | bool | None


def rings_csv(plan: Plan) -> str:
    """One row a ring, bottom to top, part by part."""
    return _table(("part", *RING_FIELDS), _rings(plan))


def cuts_csv(plan: Plan) -> str:
    """One row a strip, as the plan lists them."""
    rows = ([getattr(row, name) for name in STRIP_FIELDS] for row in plan.strips)
    return _table(STRIP_FIELDS, rows)


def safe_cell(value: Cell) -> str:
    """A cell as it is written. Text that a spreadsheet would take for a formula is defused."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    text = value.replace("\x00", "")
    return f"'{text}" if _FORMULA.match(text) else text


def _rings(plan: Plan) -> Iterator[list[Cell]]:
    for part in plan.parts:
        for ring in part.rings:
            yield [part.id, *(getattr(ring, name) for name in RING_FIELDS)]


def _table(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([safe_cell(value) for value in row] for row in rows)
    return out.getvalue()
