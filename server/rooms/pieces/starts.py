"""A new piece's first document: a starting form, level rings of one wood, a stack a part."""

import math
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from markupsafe import Markup

from server.craft.document import parse_piece
from server.craft.document.kept_shop import LEFT_ON
from server.craft.form.curves import CurvePoint
from server.craft.form.starts import FAMILIES, starting_form
from server.craft.rings.slices import alike_slices
from server.craft.units import PLANED_MM, Units
from server.craft.wood.species import DEFAULT_WOOD, species
from server.craft.worked.piece import work_piece
from server.exports.pictures.sketch import form_sketch
from server.exports.svg import to_svg

GOBLET = "goblet"
CHOICES: Mapping[str, str] = {
    **{
        family.id: family.name
        for family in FAMILIES.values()
        if family.id not in ("stem", "goblet-base", "goblet-bowl")
    },
    GOBLET: "Goblet of three parts",
}
SIZES: Mapping[str, tuple[float, float]] = {
    **{family.id: (family.height_mm, family.diameter_mm) for family in FAMILIES.values()},
    GOBLET: (232.0, 92.0),
}
_FROM_THE_SHOP = ("saw", "lathe", "room", "climate", "allowance", "glues")
_RING_MM = 19.0
_EDGE_MM = 38.0
_TENON_SHARE = 0.51
_DEPTH_MM = 15.0
_BASE_SHARE, _STEM_SHARE = 0.16, 0.37


def first_document(
    name: str, form: str, height_mm: float, diameter_mm: float, wood: str, shop: Mapping[str, Any]
) -> dict[str, Any]:
    """The document of a new piece; the shop gives its saw, lathe, room and units.

    Raises CraftError where the form cannot be made at that size.
    """
    units: Units = "in" if shop.get("display_units") == "in" else "mm"
    mark = PLANED_MM[units]
    parts, joints = (
        _goblet(height_mm, diameter_mm, wood, mark)
        if form == GOBLET
        else ([_ringed("p1", CHOICES[form], form, height_mm, diameter_mm, wood, mark)], [])
    )
    document: dict[str, Any] = {"format": "ringwright.piece", "version": 1, "name": name}
    document |= {key: shop[key] for key in _FROM_THE_SHOP if shop.get(key)}
    if shop.get("display_units") in ("in", "mm"):
        document["display_units"] = shop["display_units"]
    document.setdefault("allowance", LEFT_ON.model_dump(exclude_none=True))
    document |= {"parts": parts, "joints": joints, "stacks": _stacks(parts)}
    return document


def sketches() -> dict[str, Markup]:
    """A line sketch of every choice at its own size."""
    return {form: _sketch(form) for form in CHOICES}


@cache
def _sketch(form: str) -> Markup:
    height, diameter = SIZES[form]
    colour = species(DEFAULT_WOOD).colour_hex
    document = first_document("", form, height, diameter, DEFAULT_WOOD, {}) | {"name": form}
    work = work_piece(parse_piece(document))
    outlines = [(p.outside, p.inside, work.offsets_mm[p.id] - work.bottom_mm) for p in work.parts]
    return to_svg(form_sketch(outlines, CHOICES[form], colour))


def _goblet(
    height: float, diameter: float, wood: str, mark: float
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    shares = (_BASE_SHARE, _STEM_SHARE)
    base, stem = (max(1, round(height * share / mark)) * mark for share in shares)
    thick = max(12.0, diameter * 0.31)
    parts = [
        _ringed("base", "Base", "goblet-base", base, diameter * 0.83, wood, mark),
        {
            "id": "stem",
            "name": "Stem",
            "kind": "spindle",
            "wood": wood,
            "outside": {"points": _points(starting_form("stem", stem, thick).outside)},
        },
        _ringed("bowl", "Bowl", "goblet-bowl", height - base - stem, diameter, wood, mark),
    ]
    tenon = round(thick * _TENON_SHARE, 1)
    joints = [
        _joint("j1", "bottom", "base", "top", tenon),
        _joint("j2", "top", "bowl", "bottom", tenon),
    ]
    return parts, joints


def _joint(name: str, tenon_end: str, part: str, end: str, diameter: float) -> dict[str, Any]:
    return {
        "id": name,
        "tenon": {"part": "stem", "end": tenon_end},
        "mortise": {"part": part, "end": end},
        "diameter_mm": diameter,
        "depth_mm": _DEPTH_MM,
    }


def _ringed(
    part_id: str, name: str, family: str, height: float, diameter: float, wood: str, mark: float
) -> dict[str, Any]:
    form = starting_form(family, height, diameter)
    part: dict[str, Any] = {
        "id": part_id,
        "name": name,
        "kind": "ringed",
        "outside": {"points": _points(form.outside)},
    }
    if form.inside is not None:
        part["inside"] = {"points": _points(form.inside)}
    part["rings"] = _rings(part_id, height, diameter, wood, mark)
    return part


def _points(points: Sequence[CurvePoint]) -> list[dict[str, Any]]:
    return [
        {"r_mm": p.r_mm, "z_mm": p.z_mm, **({"corner": True} if p.corner else {})} for p in points
    ]


def _rings(
    part: str, height: float, diameter: float, wood: str, mark: float
) -> list[dict[str, Any]]:
    count = max(1, math.ceil(height / _RING_MM - 1e-9))
    segments = max(8, 2 * round(math.pi * diameter / _EDGE_MM / 2))
    return [
        {
            "id": f"{part}-{k + 1}",
            "thickness_mm": thickness,
            "segments": segments,
            "phase": 0.5 * (k % 2),
            "woods": [wood],
        }
        for k, thickness in enumerate(alike_slices(height, count, mark))
    ]


def _stacks(parts: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    ringed = [part for part in parts if part.get("rings")]
    return [
        {
            "id": f"s-{part['id']}",
            "name": part["name"],
            "part": part["id"],
            "rings": [ring["id"] for ring in part["rings"]],
            "mounted": "bottom",
            "faceplate": chr(ord("A") + k),
        }
        for k, part in enumerate(ringed)
    ]
