"""The limits of the checks, on the page: common practice as they come, the user's to change."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.craft.document import Piece
from server.craft.findings import LIMITS
from server.craft.units import Units
from server.web.fields import Fields
from server.web.lengths import field_text

LARGEST = 100_000.0
LENGTH = "length"

NAMES: Mapping[str, tuple[str, str]] = {
    "wall-thin": ("Wall, at least", LENGTH),
    "floor-thin": ("Floor, at least", LENGTH),
    "glue-face-small": ("Glue face, at least", LENGTH),
    "segment-small": ("Segment, at least", LENGTH),
    "height-mismatch": ("Rings and form differ by, at most", "mm"),
    "season-gap": ("A season opens joints by, at most", "mm"),
    "joints-aligned": ("Joints apart, at least, of a segment", "×"),
    "gap-not-bridged": ("Open joints bridged by, at least", "°"),
    "press-force-exceeded": ("Pressure, at least", "MPa"),
    "plate-needed": ("Ring to its block, at most", "×"),
    "moisture-mismatch": ("Moisture apart, at most", "%"),
    "stem-weak": ("Stem’s strength, at least", "×"),
    "tips-easily": ("Leant before it falls, at least", "°"),
}
"""What each limit is called and what it is measured in; the saw's own form has its shortest strip.

`length` is a length in the piece's units; thinner things than a ruler shows stay in mm.
"""


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit as a field: `help` says what it is as it comes, where it was changed."""

    name: str
    label: str
    unit: str
    value: str
    help: str


def limit_rows(piece: Piece) -> tuple[LimitRow, ...]:
    """All limits of a piece, in the order of the page."""
    return tuple(_row(piece, code) for code in NAMES)


def _row(piece: Piece, code: str) -> LimitRow:
    label, unit = NAMES[code]
    units = piece.display_units
    usual = _text(LIMITS[code], unit, units)
    shown = ("″" if units == "in" else "mm") if unit == LENGTH else unit
    value = _text(piece.limits.get(code, LIMITS[code]), unit, units)
    was = f"As it comes: {usual} {shown}" if code in piece.limits else ""
    return LimitRow(f"limit-{code}", label, shown, value, was)


def _text(value: float, unit: str, units: Units) -> str:
    return field_text(value, units) if unit == LENGTH else f"{value:g}"


def set_limits(document: dict[str, Any], fields: Fields) -> None:
    """Limits that the form sent: an empty field, and what is as it comes, are not kept."""
    limits: dict[str, float] = dict(document.get("limits") or {})
    for code, (_, unit) in NAMES.items():
        name = f"limit-{code}"
        if name not in fields.typed:
            continue
        if unit == LENGTH:
            was = limits.get(code, LIMITS[code])
            value = fields.length(name, low=0, required=False, was=was)
        else:
            value = fields.number(name, low=0, high=LARGEST, required=False)
        limits.pop(code, None)
        if value is not None and value != LIMITS[code]:
            limits[code] = value
    if limits:
        document["limits"] = limits
    else:
        document.pop("limits", None)
