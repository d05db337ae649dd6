"""A stem as long as base and bowl, once they are measured, leave room for."""

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.craft.document import parse_piece
from server.craft.planned import Planned, work_out
from server.craft.worked.piece import WorkedPart
from server.rooms.lathe.bench import LatheBench

PART_HEIGHT = "part_height"


@dataclass(frozen=True, slots=True)
class Stem:
    """What is seen of it and its length with its tenons, mm; how many neighbours are measured."""

    visible_mm: float
    turned_mm: float
    measured: int


def beside(bench: LatheBench, part: str) -> tuple[str, ...]:
    """The parts that joints put against this one, from the foot up."""
    near = {
        other.part
        for joint in bench.piece.joints
        for one, other in ((joint.tenon, joint.mortise), (joint.mortise, joint.tenon))
        if one.part == part
    }
    offsets = bench.planned.work.offsets_mm
    return tuple(sorted(near, key=lambda name: offsets[name]))


def stem_of(bench: LatheBench, part: WorkedPart) -> Stem:
    """What is left for the stem, the whole as high as drawn."""
    heights = {name: bench.reading(name, PART_HEIGHT) for name in beside(bench, part.id)}
    known = {name: height for name, height in heights.items() if height is not None}
    by_part = bench.planned.work.by_part
    longer = sum(by_part[name].height_mm - height for name, height in known.items())
    visible = part.height_mm + longer
    tenons = sum(j.depth_mm for j in bench.piece.joints if j.tenon.part == part.id)
    return Stem(visible, visible + tenons, len(known))


def as_long_as(document: Mapping[str, Any], part_id: str, visible_mm: float) -> Planned:
    """The drawing with that part stretched evenly along its axis; nothing of it is kept.

    Raises DocumentError where that is no drawing any more.
    """
    changed = copy.deepcopy(dict(document))
    part = next(part for part in changed["parts"] if part["id"] == part_id)
    points = part["outside"]["points"]
    heights = [point["z_mm"] for point in points]
    low, high = min(heights), max(heights)
    for point in points:
        point["z_mm"] = low + (point["z_mm"] - low) * visible_mm / (high - low)
    return work_out(parse_piece(changed))
