"""The forms of points, parts, joints, stacks and the shop that a piece is drawn for."""

from collections.abc import Sequence
from typing import Any

from server.craft.errors import CraftError
from server.rooms.drawing_board.edits import Document, part_of, set_or_drop
from server.rooms.drawing_board.limits import set_limits
from server.web.fields import Fields

CURVES = ("outside", "inside")
PART_KINDS = (
    ("ringed", "rings"),
    ("spindle", "one piece, grain along"),
    ("disc", "one piece, grain across"),
)
ENDS = ("bottom", "top")


def set_points(document: Document, part_id: str, fields: Fields) -> None:
    """Every point of both curves, as typed in the table."""
    part = part_of(document, part_id)
    for curve in CURVES:
        if part.get(curve):
            for k, point in enumerate(part[curve]["points"]):
                _set_point(point, f"{curve}-{k}", fields)


def _set_point(point: Document, name: str, fields: Fields) -> None:
    if f"{name}-r" not in fields.typed:
        return
    across = fields.length(f"{name}-r", low=0, high=6000, was=2 * point["r_mm"])
    point["r_mm"] = None if across is None else across / 2
    point["z_mm"] = fields.length(f"{name}-z", low=0, was=point["z_mm"])
    set_or_drop(point, {"corner": True if fields.flag(f"{name}-corner") else None})


def set_part(document: Document, part_id: str, fields: Fields, woods: Sequence[str]) -> None:
    """Name, kind, wood and floor of a part."""
    part = part_of(document, part_id)
    part["name"] = fields.text("name", required=False)
    part["kind"] = fields.choice("kind", [kind for kind, _ in PART_KINDS])
    if part["kind"] != "ringed" and part.get("rings"):
        fields.wrong("kind", "Take its rings out first.")
    if fields.has("wood"):
        part["wood"] = fields.choice("wood", woods)
    set_or_drop(part, {"floor_mm": fields.length("floor", low=0, required=False)})


def set_joint(document: Document, index: int, fields: Fields) -> None:
    """Sizes of one mortise and tenon."""
    joint = document["joints"][index]
    joint["diameter_mm"] = fields.length("diameter")
    joint["depth_mm"] = fields.length("depth")
    for key in ("clearance", "end_clearance", "web"):
        value = fields.length(key, low=0, required=False)
        set_or_drop(joint, {f"{key}_mm": value})


def new_joint(fields: Fields, joint_id: str) -> dict[str, Any]:
    """A joint between two ends: the lower part's top and the upper one's bottom."""
    lower, upper = fields.text("lower"), fields.text("upper")
    if lower == upper:
        raise CraftError("A part cannot be joined to itself.")
    tenon_below = fields.choice("tenon", ("lower", "upper")) == "lower"
    top, bottom = {"part": lower, "end": "top"}, {"part": upper, "end": "bottom"}
    return {
        "id": joint_id,
        "tenon": top if tenon_below else bottom,
        "mortise": bottom if tenon_below else top,
        "diameter_mm": fields.length("diameter"),
        "depth_mm": fields.length("depth"),
    }


def set_stack(document: Document, index: int, fields: Fields, glues: Sequence[str]) -> None:
    """Name, faceplate, mounted end, block, glue and rings of one stack."""
    stack = document["stacks"][index]
    stack["name"] = fields.text("name", required=False)
    stack["mounted"] = fields.choice("mounted", ENDS)
    set_or_drop(stack, {"faceplate": fields.text("faceplate", required=False, longest=12) or None})
    if fields.has("glue"):
        stack["glue"] = fields.choice("glue", glues)
    across = fields.length("block_diameter", required=False)
    thick = fields.length("block_thickness", required=False)
    if (across is None) != (thick is None):
        fields.wrong("block_thickness", "A waste block needs both sizes.")
    block = {"diameter_mm": across, "thickness_mm": thick} if across and thick else None
    set_or_drop(stack, {"waste_block": block})
    stack["rings"] = fields.all("stack_ring")


_SHOP_LENGTHS = {
    "allowance": ("outside_mm", "inside_mm", "flatten_mm"),
    "saw": (
        "blade_kerf_mm",
        "rip_kerf_mm",
        "cross_kerf_mm",
        "end_trim_mm",
        "plane_mm",
        "shortest_strip_mm",
        "hold_tail_mm",
    ),
}


def set_shop(document: Document, fields: Fields) -> None:
    """Name, units, allowances, saw, lathe, room and limits of the piece."""
    document["name"] = fields.text("name")
    document["display_units"] = fields.choice("display_units", ("in", "mm"))
    for section, names in _SHOP_LENGTHS.items():
        _section(document, section, {n: fields.length(f"{section}-{n}", low=0) for n in names})
    spare = fields.whole("saw-spare_segments", low=0, high=1000)
    _section(document, "saw", {"spare_segments": spare, "flip": fields.flag("saw-flip")})
    lathe = {n: fields.length(f"lathe-{n}") for n in ("swing_mm", "between_centres_mm")}
    forces = {
        n: fields.number(f"lathe-{n}", low=0, high=1_000_000)
        for n in ("press_force_n", "clamp_force_n")
    }
    _section(document, "lathe", lathe | forces)
    _section(
        document,
        "room",
        {
            "temperature_c": fields.number("room-temperature_c", low=-60, high=150),
            "humidity_percent": fields.number("room-humidity_percent", low=0, high=100),
        },
    )
    set_limits(document, fields)


def _section(document: Document, name: str, values: dict[str, Any]) -> None:
    document[name] = {**document.get(name, {}), **values}
