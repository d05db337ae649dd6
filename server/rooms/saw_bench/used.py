"""The ledger's lines that take a board off the rack and bring back what is left of it."""

from collections import Counter
from typing import Any

from server.craft.saw.layout import LaidBoard, Offcut
from server.craft.saw.request import Board, CuttingRequest, Defect
from server.rooms.saw_bench.sawing import Sawing

_NEAR_MM = 1e-3
OTHER_WOOD = "other-wood"
"""What a use is about whose wood never lay on the rack."""


def used_line(
    sawing: Sawing, request: CuttingRequest, board: Board, laid: LaidBoard, name: str
) -> dict[str, Any]:
    """A board is sawn up: off the rack with it, and its rests back on it."""
    counts = Counter[str]()
    for strip in laid.strips:
        for part in strip.pieces:
            counts[part.strip] += part.count
    bad = _bad(board, request)
    rests = [
        {
            "length_mm": round(rest.length_mm, 3),
            "width_mm": round(rest.width_mm, 3),
            "defects": _defects_in(bad, rest),
        }
        for rest in laid.offcuts
    ]
    return {
        "kind": "used",
        "subject": board.id,
        "words": f"{name} sawn",
        "mark": f"used:{board.id}:{laid.copy}",
        "data": {
            "count": 1,
            "wood": board.wood,
            "pieces": [_part(sawing, strip, count) for strip, count in counts.items()],
            "returns": rests,
        },
    }


def resawn_line(leaf: Board, leaves: int, name: str) -> dict[str, Any]:
    """A board is resawn: off the rack with it, and its leaves on it."""
    one = {
        "length_mm": leaf.length_mm,
        "width_mm": leaf.width_mm,
        "thickness_mm": round(leaf.thickness_mm, 3),
        "price_per_board_foot": leaf.price_per_board_foot,
        "defects": [_numbers(defect) for defect in leaf.defects],
    }
    if leaf.end_trim_mm:
        one["end_trim_mm"] = leaf.end_trim_mm
    return {
        "kind": "used",
        "subject": leaf.id,
        "words": f"{name} resawn",
        "mark": f"used:{leaf.id}:resawn",
        "data": {"count": 1, "wood": leaf.wood, "returns": [one] * leaves},
    }


def other_wood_line(sawing: Sawing, strip: str, count: int) -> dict[str, Any]:
    """Segments were cut from wood that the rack does not know."""
    return {
        "kind": "used",
        "subject": OTHER_WOOD,
        "words": f"{count} from other wood",
        "mark": f"used:{OTHER_WOOD}:{strip}",
        "data": {"pieces": [_part(sawing, strip, count)]},
    }


def _part(sawing: Sawing, strip: str, count: int) -> dict[str, Any]:
    to_cut = sawing.strips[strip]
    part: dict[str, Any] = {"strip": to_cut.cut.row.id, "count": count}
    return part if sawing.alone else {**part, "piece": to_cut.work.piece_id}


def _bad(board: Board, request: CuttingRequest) -> list[Defect]:
    """Defects, and the board's own bad ends where they reach further than the saw always trims."""
    bad_mm = board.end_trim_mm or 0.0
    if bad_mm <= request.saw.end_trim_mm:
        return board.defects
    ends = (0.0, max(0.0, board.length_mm - bad_mm))
    return [
        *board.defects,
        *(Defect(x_mm=x, y_mm=0.0, length_mm=bad_mm, width_mm=board.width_mm) for x in ends),
    ]


def _defects_in(bad: list[Defect], rest: Offcut) -> list[dict[str, float]]:
    """What a rest keeps of the bad places, measured from the rest's own corner."""
    found = []
    for defect in bad:
        x0 = max(defect.x_mm, rest.x_mm)
        x1 = min(defect.x_mm + defect.length_mm, rest.x_mm + rest.length_mm)
        y0 = max(defect.y_mm, rest.y_mm)
        y1 = min(defect.y_mm + defect.width_mm, rest.y_mm + rest.width_mm)
        if x1 - x0 > _NEAR_MM and y1 - y0 > _NEAR_MM:
            found.append(
                {
                    "x_mm": round(x0 - rest.x_mm, 3),
                    "y_mm": round(y0 - rest.y_mm, 3),
                    "length_mm": round(x1 - x0, 3),
                    "width_mm": round(y1 - y0, 3),
                }
            )
    return found


def _numbers(defect: Defect) -> dict[str, float]:
    return {
        "x_mm": defect.x_mm,
        "y_mm": defect.y_mm,
        "length_mm": defect.length_mm,
        "width_mm": defect.width_mm,
    }
