"""The form of the shop: text to the document that is kept."""

from collections.abc import Callable
from typing import Any

from server.web.fields import Fields

Document = dict[str, Any]

ALLOWANCES = ("outside_mm", "inside_mm", "flatten_mm")
SAW_LENGTHS = (
    "blade_kerf_mm",
    "rip_kerf_mm",
    "cross_kerf_mm",
    "end_trim_mm",
    "plane_mm",
    "shortest_strip_mm",
    "hold_tail_mm",
)
RANGES = ("closes_from_mm", "closes_to_mm", "opens_from_mm", "opens_to_mm")
MOST_ROWS = 100


def read_shop(fields: Fields, kept: Document) -> Document:
    """The shop as typed, on top of what is kept; errors stay in `fields`."""
    fields_of = {
        "display_units": fields.choice("display_units", ("mm", "in")),
        "saw": _saw(fields),
        "allowance": {name: fields.length(f"allowance-{name}", low=0) for name in ALLOWANCES},
        "lathe": _lathe(fields),
        "room": _room(fields),
        "faceplates": _rows(fields, "faceplate", _faceplate),
        "jaws": _rows(fields, "jaws", _jaws),
        "clamps": _rows(fields, "clamp", _clamp),
        "glues": _rows(fields, "glue", _glue),
    }
    return {**kept, **fields_of}


def _saw(fields: Fields) -> Document:
    lengths = {name: fields.length(f"saw-{name}", low=0) for name in SAW_LENGTHS}
    spare = fields.whole("saw-spare_segments", low=0, high=1000)
    return {**lengths, "spare_segments": spare, "flip": fields.flag("saw-flip")}


def _lathe(fields: Fields) -> Document:
    return {
        "swing_mm": fields.length("lathe-swing_mm"),
        "between_centres_mm": fields.length("lathe-between_centres_mm"),
        "press_force_n": fields.number("lathe-press_force_n", low=0, high=1_000_000),
        "clamp_force_n": fields.number("lathe-clamp_force_n", low=0, high=1_000_000),
    }


def _room(fields: Fields) -> Document:
    return {
        "temperature_c": fields.number("room-temperature_c", low=-60, high=150),
        "humidity_percent": fields.number("room-humidity_percent", low=0, high=100),
    }


def _rows(fields: Fields, kind: str, read: Callable[[Fields, str], Document]) -> list[Document]:
    """The rows that have a name; a row whose name was cleared is gone."""
    rows = []
    for number in range(MOST_ROWS):
        row = f"{kind}-{number}"
        if fields.has(f"{row}-name"):
            name = fields.text(f"{row}-name", longest=120)
            given = {"name": name, **read(fields, row)}
            rows.append({key: value for key, value in given.items() if value is not None})
    return rows


def _faceplate(fields: Fields, row: str) -> Document:
    return {
        "diameter_mm": fields.length(f"{row}-diameter_mm", required=False),
        "count": fields.whole(f"{row}-count", low=0, high=1000),
    }


def _jaws(fields: Fields, row: str) -> Document:
    sizes = {name: fields.length(f"{row}-{name}", required=False) for name in RANGES}
    for way in ("closes", "opens"):
        low, high = sizes[f"{way}_from_mm"], sizes[f"{way}_to_mm"]
        if (low is None) != (high is None):
            fields.wrong(f"{row}-{way}_to_mm", "Give both ends of the range, or none.")
        elif low is not None and high is not None and low > high:
            fields.wrong(f"{row}-{way}_to_mm", "The range ends before it begins.")
    return sizes


def _clamp(fields: Fields, row: str) -> Document:
    return {
        "count": fields.whole(f"{row}-count", low=0, high=1000),
        "force_n": fields.number(f"{row}-force_n", low=0, high=1_000_000, required=False),
    }


def _glue(fields: Fields, row: str) -> Document:
    name = fields.typed.get(f"{row}-name", "")
    words = "".join(char if char.isascii() and char.isalnum() else " " for char in name.lower())
    slug = "-".join(words.split()).lstrip("0123456789-") or f"glue-{row.split('-')[1]}"
    return {
        "id": fields.typed.get(f"{row}-id") or f"own-{slug}"[:80].rstrip("-"),
        "press_minutes": fields.number(f"{row}-press_minutes", low=0, high=100_000),
        "rest_minutes": fields.number(f"{row}-rest_minutes", low=0, high=100_000),
        "cure_hours": fields.number(f"{row}-cure_hours", low=0, high=100_000),
        "open_minutes": fields.number(f"{row}-open_minutes", low=0, high=100_000),
        "least_temperature_c": fields.number(f"{row}-least_temperature_c", low=-60, high=150),
    }
