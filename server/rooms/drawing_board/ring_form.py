"""The form of one ring: what was typed becomes the ring's fields in the document."""

from collections.abc import Mapping, Sequence
from typing import Any

from server.rooms.drawing_board.edits import Document, by_hand, ring_of, set_or_drop
from server.web.fields import Fields

KINDS = (("flat", "flat ring"), ("stave", "staves"), ("disc", "disc"), ("veneer", "veneer"))
JOINTS = (
    ("closed", "closed"),
    ("spacer", "a spacer strip"),
    ("wedge", "open, wedge gap"),
    ("parallel", "open, parallel gap"),
)
GRAINS = (("flat", "flat sawn"), ("quarter", "quarter sawn"), ("rift", "rift sawn"))
_KIND_NAMES = tuple(kind for kind, _ in KINDS)
_JOINT_NAMES = tuple(kind for kind, _ in JOINTS)
_GRAIN_NAMES = tuple(kind for kind, _ in GRAINS)
_SHAPE = ("thickness_mm", "kind", "segments", "phase", "spacer", "gap", "shares", "lean_deg")
"""What makes a ring one that was set by hand; its woods and details do not."""

UNSAID: Mapping[str, Any] = {
    "kind": "flat",
    "segments": 12,
    "phase": 0.0,
    "woods": None,
    "spacer": None,
    "gap": None,
    "shares": None,
    "plug": None,
    "lean_deg": 0.0,
    "grain": "flat",
    "moisture_percent": None,
    "board_width_mm": None,
    "aligned_on_purpose": False,
}
"""What a ring is where its document says nothing."""


def joint_kind(ring: Mapping[str, Any]) -> str:
    """Which of `JOINTS` a ring has."""
    if ring.get("spacer"):
        return "spacer"
    gap = ring.get("gap")
    if gap:
        return "wedge" if gap.get("angle_deg") is not None else "parallel"
    return "closed"


def set_ring(document: Document, ring_id: str, fields: Fields, woods: Sequence[str]) -> None:
    """Write the ring's form into the document; errors stand in `fields`."""
    ring = ring_of(document, ring_id)
    before = {key: ring.get(key) for key in _SHAPE}
    ring["thickness_mm"] = fields.length("thickness", was=ring.get("thickness_mm"))
    kind = fields.choice("kind", _KIND_NAMES)
    set_or_drop(ring, {"kind": None if kind == "flat" else kind})
    if kind in ("flat", "stave"):
        ring["segments"] = fields.whole("segments", low=3, high=360)
        ring["phase"] = _phase(fields)
        set_joints(ring, fields, woods)
        set_or_drop(ring, {"shares": _shares(fields, ring["segments"])})
    if kind == "stave":
        ring["lean_deg"] = fields.number("lean", low=-90, high=90, required=False) or 0.0
    pattern = _pattern(fields, woods)
    set_or_drop(ring, {"woods": pattern or None})
    _set_wood_details(ring, fields)
    changed = any(ring.get(key) != was for key, was in before.items())
    by_hand([ring], changed or fields.flag("stays"))


def _phase(fields: Fields) -> float | None:
    value = fields.number("phase", low=0, high=1)
    return 0.0 if value == 1 else value


def set_joints(ring: Document, fields: Fields, woods: Sequence[str]) -> None:
    """Closed, spacers or open gaps, as chosen."""
    joint = fields.choice("joint", _JOINT_NAMES)
    ring.pop("spacer", None)
    ring.pop("gap", None)
    if joint == "spacer":
        ring["spacer"] = {
            "thickness_mm": _default(fields, "joint_width", 1.5, low=0.1, high=50),
            "wood": fields.choice("spacer_wood", woods) if fields.has("spacer_wood") else woods[0],
        }
    elif joint == "parallel":
        ring["gap"] = {"width_mm": _default(fields, "joint_width", 3.0, low=0.1, high=3000)}
    elif joint == "wedge":
        angle = 3.0
        if fields.has("joint_angle"):
            angle = fields.number("joint_angle", low=0.01, high=120) or angle
        ring["gap"] = {"angle_deg": angle}


def _default(fields: Fields, name: str, value: float, *, low: float, high: float) -> float:
    """A width that has just come to be asked for starts at a usual one."""
    if not fields.has(name):
        return value
    return fields.length(name, low=low, high=high) or value


def _shares(fields: Fields, segments: int | None) -> list[float] | None:
    """Relative widths, repeated round the ring: `3 1` makes every second one narrow."""
    text = fields.typed.get("shares", "").replace(",", ".").replace(":", " ").split()
    if not text or segments is None:
        return None
    try:
        each = [float(word) for word in text]
    except ValueError:
        fields.wrong("shares", "Write relative widths, like 3 1 for wide and narrow in turn.")
        return None
    if not all(0 < share <= 1000 for share in each):
        fields.wrong("shares", "Every share is more than 0.")
        return None
    return [each[k % len(each)] for k in range(segments)]


def _pattern(fields: Fields, woods: Sequence[str]) -> list[str]:
    chosen = [wood for wood in fields.all("wood") if wood]
    for wood in chosen:
        if wood not in woods:
            fields.wrong("wood", "One of these woods is not known here.")
    return chosen


def _set_wood_details(ring: Document, fields: Fields) -> None:
    if "grain" in fields.typed:
        grain = fields.choice("grain", _GRAIN_NAMES)
        set_or_drop(ring, {"grain": None if grain == "flat" else grain})
    if "board_width" in fields.typed:
        set_or_drop(ring, {"board_width_mm": fields.length("board_width", required=False)})
        set_or_drop(
            ring,
            {"moisture_percent": fields.number("moisture", low=0, high=200, required=False)},
        )
        set_or_drop(ring, {"aligned_on_purpose": True if fields.flag("aligned") else None})
        plug = fields.length("plug", required=False)
        kept = ring.get("plug") or {}
        set_or_drop(ring, {"plug": {**kept, "diameter_mm": plug} if plug else None})
