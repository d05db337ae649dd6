"""What lies on the rack now: what was put there, less what the ledger says was used, and the
rests that came back. Undoing a use therefore brings the board back and takes its rests away.

A rack item is a document as the rack keeps it, sizes in mm. A use may carry `count` (how many,
one if not said), `length_mm` (cut off one of them; the rest of it stays) and `returns`, a list of
rests of one of them, each with `length_mm`, `width_mm` and, where it has any, `defects`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.craft.ledger import Entry

LABEL_LENGTH = 8
_KEPT_BY_A_REST = (
    "wood",
    "thickness_mm",
    "nominal_thickness_mm",
    "moisture_percent",
    "grain",
    "price_per_board_foot",
    "place",
)


@dataclass(frozen=True, slots=True)
class Stock:
    """One row of the rack with how many are `left` of it; `came_from` is the use that made it."""

    id: str
    kind: str
    document: Mapping[str, Any]
    left: int
    used: int
    came_from: Entry | None = None


def stock_now(items: Iterable[Mapping[str, Any]], uses: Sequence[Entry]) -> tuple[Stock, ...]:
    """The rack after these uses, oldest first; uses that were undone are not among them."""
    rows: dict[str, Stock] = {}
    for item in items:
        rows[str(item["id"])] = _row(item, None)
    for use in sorted(uses, key=lambda use: use.seq):
        parent = rows.get(use.subject)
        if parent is None:
            continue
        count = min(_count(use), parent.left)
        rows[parent.id] = Stock(
            parent.id,
            parent.kind,
            parent.document,
            parent.left - count,
            parent.used + count,
            parent.came_from,
        )
        for rest in _rests(parent.document, use):
            rows.setdefault(str(rest["id"]), _row(rest, use))
    return tuple(rows.values())


def rest_id(use_id: str, number: int) -> str:
    """The id, and the label on the wood, of the rest of that number, from 1."""
    return f"{use_id.replace('-', '')[:LABEL_LENGTH]}-{number}"


def _row(item: Mapping[str, Any], use: Entry | None) -> Stock:
    count = item.get("count", 1)
    return Stock(str(item["id"]), str(item.get("kind", "board")), item, int(count), 0, use)


def _count(use: Entry) -> int:
    count = use.data.get("count", 1)
    return count if isinstance(count, int) and count > 0 else 1


def _rests(parent: Mapping[str, Any], use: Entry) -> Iterable[dict[str, Any]]:
    returns = use.data.get("returns")
    if not isinstance(returns, list):
        returns = _shortened(parent, use.data.get("length_mm"))
    for number, rest in enumerate(returns, start=1):
        if not isinstance(rest, Mapping) or not _sizes(rest):
            continue
        kept = {name: parent[name] for name in _KEPT_BY_A_REST if parent.get(name) is not None}
        label = rest_id(use.id, number)
        yield {
            **kept,
            "id": label,
            "kind": "offcut",
            "offcut": True,
            "count": 1,
            "name": f"Rest of {parent.get('name') or parent.get('wood')}",
            "length_mm": float(rest["length_mm"]),
            "width_mm": float(rest["width_mm"]),
            "defects": list(rest.get("defects") or ()),
        }


def _shortened(parent: Mapping[str, Any], cut_off_mm: Any) -> list[dict[str, float]]:
    long, wide = parent.get("length_mm"), parent.get("width_mm")
    if not isinstance(cut_off_mm, int | float) or not long or not wide or cut_off_mm >= long:
        return []
    return [{"length_mm": long - cut_off_mm, "width_mm": wide}]


def _sizes(rest: Mapping[str, Any]) -> bool:
    sizes = [rest.get("length_mm"), rest.get("width_mm")]
    return all(isinstance(s, int | float) and not isinstance(s, bool) and s > 0 for s in sizes)
