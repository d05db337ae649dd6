"""What lies on the rack now: what was put there, less what the ledger says was used, and the
rests that came back. Undoing a use therefore brings the board back and takes its rests away.

A rack item is a document as the rack keeps it, sizes in mm. A use may carry `count` (how many,
one if not said), `length_mm` (cut off one of them; the rest of it stays) and `returns`, a list of
rests of one of them, each with `length_mm`, `width_mm` and, where it has any, `defects`. A rest
with a `thickness_mm` of its own is a leaf that was resawn, with its own price a board foot.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.craft.ledger import Entry

LABEL_LENGTH = 8
_LONGEST_NAME = 200
_KEPT_BY_A_REST = (
    "wood",
    "thickness_mm",
    "nominal_thickness_mm",
    "moisture_percent",
    "grain",
    "price_per_board_foot",
    "place",
)
_OF_A_LEAF = ("thickness_mm", "price_per_board_foot", "end_trim_mm")


@dataclass(frozen=True, slots=True)
class Stock:
    """One row of the rack with how many are `left` of it; `came_from` is the use that made it."""

    id: str
    kind: str
    document: Mapping[str, Any]
    left: int
    used: int
    came_from: Entry | None = None


def stock_now(
    items: Iterable[Mapping[str, Any]],
    uses: Sequence[Entry],
    corrected: Mapping[str, Mapping[str, Any]] | None = None,
    gone: Collection[str] = (),
) -> tuple[Stock, ...]:
    """The rack after these uses, oldest first; uses that were undone are not among them.

    `corrected` are rests, by label, that somebody measured again; `gone` those thrown away.
    """
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
        for rest in _rests(parent.document, use) if count else ():
            label = str(rest["id"])
            if label not in gone:
                rows.setdefault(label, _row((corrected or {}).get(label, rest), use))
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
        yield _rest(parent, rest, rest_id(use.id, number))


def _rest(parent: Mapping[str, Any], rest: Mapping[str, Any], label: str) -> dict[str, Any]:
    kept = {name: parent[name] for name in _KEPT_BY_A_REST if parent.get(name) is not None}
    leaf = _is_number(rest.get("thickness_mm"))
    if leaf:
        kept.pop("nominal_thickness_mm", None)
        kept |= {name: rest[name] for name in _OF_A_LEAF if _is_number(rest.get(name))}
    return {
        **kept,
        "id": label,
        "kind": "board" if leaf else "offcut",
        "offcut": not leaf,
        "count": 1,
        "name": _name_of(parent, "Leaf" if leaf else "Rest"),
        "length_mm": float(rest["length_mm"]),
        "width_mm": float(rest["width_mm"]),
        "defects": list(rest.get("defects") or ()),
    }


def _name_of(parent: Mapping[str, Any], what: str) -> str:
    """Named after the board it was first: the rest of a rest is not told twice."""
    name = str(parent.get("name") or parent.get("wood"))
    for before in ("Rest of ", "Leaf of "):
        name = name.removeprefix(before)
    return f"{what} of {name}"[:_LONGEST_NAME]


def _shortened(parent: Mapping[str, Any], cut_off_mm: Any) -> list[dict[str, float]]:
    long, wide = parent.get("length_mm"), parent.get("width_mm")
    if not isinstance(cut_off_mm, int | float) or not long or not wide or cut_off_mm >= long:
        return []
    return [{"length_mm": long - cut_off_mm, "width_mm": wide}]


def _sizes(rest: Mapping[str, Any]) -> bool:
    return all(_is_number(rest.get(name)) for name in ("length_mm", "width_mm"))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and value > 0
