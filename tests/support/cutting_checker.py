"""An independent check of a cutting layout: it knows the contract and nothing of the optimiser.

Works on plain JSON values. Every rule is looked at on its own: places, gaps, straight cuts
through, lengths by sawing one segment after the other, counts, and the money.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

NEAR = 1e-6
MM3_PER_BOARD_FOOT = 144 * 25.4**3


class Box(NamedTuple):
    """A rectangle on a board: along x0..x1, across y0..y1."""

    x0: float
    x1: float
    y0: float
    y1: float


def box(thing: Mapping[str, Any]) -> Box:
    x, y = thing["x_mm"], thing["y_mm"]
    return Box(x, x + thing["length_mm"], y, y + thing["width_mm"])


def saw_with_defaults(request: Mapping[str, Any]) -> dict[str, Any]:
    defaults = {
        "blade_kerf_mm": 2.4,
        "rip_kerf_mm": 2.4,
        "cross_kerf_mm": 3,
        "flip": True,
        "end_trim_mm": 5,
        "plane_mm": 1.5,
        "shortest_strip_mm": 150,
        "hold_tail_mm": 0,
    }
    return defaults | dict(request.get("saw") or {})


def faults(request: Mapping[str, Any], layout: Mapping[str, Any]) -> list[str]:
    """Everything that is wrong with a layout; an empty list when a shop could cut it."""
    found: list[str] = []
    saw = saw_with_defaults(request)
    strips = {strip["id"]: strip for strip in request["strips"]}
    boards = {board["id"]: board for board in request["rack"]}
    opened = Counter((board["id"], board["copy"]) for board in layout["boards"])
    found += [f"{key} opened twice" for key, times in opened.items() if times > 1]
    for laid in layout["boards"]:
        if laid["id"] not in boards:
            found.append(f"no board {laid['id']}")
            continue
        board = boards[laid["id"]]
        where = f"{laid['id']}/{laid['copy']}"
        if not 1 <= laid["copy"] <= board.get("count", 1):
            found.append(f"{where}: the rack has {board.get('count', 1)} of it")
        if not laid["strips"]:
            found.append(f"{where}: opened for nothing")
        found += [f"{where}: {text}" for text in _board_faults(board, laid, strips, saw)]
    return found + _count_faults(strips, layout) + _money_faults(boards, layout)


def _board_faults(
    board: Mapping[str, Any],
    laid: Mapping[str, Any],
    strips: Mapping[str, Mapping[str, Any]],
    saw: Mapping[str, Any],
) -> list[str]:
    found: list[str] = []
    own_trim = board.get("end_trim_mm")
    trim = saw["end_trim_mm"] if own_trim is None else own_trim
    length, width = board["length_mm"], board["width_mm"]
    spoilt = [box(defect) for defect in board.get("defects", [])]
    boxes = [box(strip) for strip in laid["strips"]]
    for strip, place in zip(laid["strips"], boxes, strict=True):
        if place.x0 < trim - NEAR or place.x1 > length - trim + NEAR:
            found.append(f"strip at {place} in the trim")
        if place.y0 < -NEAR or place.y1 > width + NEAR:
            found.append(f"strip at {place} beside the board")
        found += [f"strip at {place} over {bad}" for bad in spoilt if _overlap(place, bad)]
        found += _strip_faults(board, strip, strips, saw)
    keep = [box(offcut) for offcut in laid["offcuts"]]
    for place in keep:
        inside = (
            place.x0 >= -NEAR
            and place.x1 <= length + NEAR
            and place.y0 >= -NEAR
            and place.y1 <= width + NEAR
        )
        if not inside or place.x1 - place.x0 <= 0 or place.y1 - place.y0 <= 0:
            found.append(f"offcut {place} is not on the board")
    if not _cuttable(boxes + keep, saw["rip_kerf_mm"], saw["cross_kerf_mm"]):
        found.append("cannot be cut by straight cuts through")
    return found


def _overlap(a: Box, b: Box) -> bool:
    wide = min(a.x1, b.x1) - max(a.x0, b.x0)
    return wide > NEAR and min(a.y1, b.y1) - max(a.y0, b.y0) > NEAR


def _cuttable(parts: Sequence[Box], rip: float, cross: float) -> bool:
    """Whether straight cuts through, each a kerf wide, free every part."""
    if len(parts) <= 1:
        return True
    for low, high, kerf in ((0, 1, cross), (2, 3, rip)):
        ordered = sorted(parts, key=lambda part: part[low])
        reached = ordered[0][high]
        for place in range(1, len(ordered)):
            if ordered[place][low] >= reached + kerf - NEAR:
                first, second = ordered[:place], ordered[place:]
                return _cuttable(first, rip, cross) and _cuttable(second, rip, cross)
            reached = max(reached, ordered[place][high])
    return False


def _strip_faults(
    board: Mapping[str, Any],
    laid: Mapping[str, Any],
    strips: Mapping[str, Mapping[str, Any]],
    saw: Mapping[str, Any],
) -> list[str]:
    found: list[str] = []
    served = [(strips[p["strip"]], p["count"]) for p in laid["pieces"] if p["strip"] in strips]
    if len(served) != len(laid["pieces"]) or not served:
        return ["a laid strip serves nothing or something unknown"]
    alike = {(s["width_mm"], s["thickness_mm"], s["mitre_deg"], s["wood"]) for s, _ in served}
    if len(alike) != 1:
        return [f"one laid strip for unlike STRIPs: {alike}"]
    width, thickness, _, wood = next(iter(alike))
    if wood != board["wood"]:
        found.append(f"{wood} from a board of {board['wood']}")
    if board["thickness_mm"] < thickness + saw["plane_mm"] - NEAR:
        found.append(f"{thickness} planed from a board of {board['thickness_mm']}")
    if laid["width_mm"] < width - NEAR:
        found.append(f"strip {laid['width_mm']} narrower than {width}")
    if laid["length_mm"] < saw["shortest_strip_mm"] - NEAR:
        found.append(f"strip of {laid['length_mm']} too short to hold")
    if any(count < 1 for _, count in served):
        found.append("a strip with no pieces of one kind")
    needed = sawn_length(served, saw)
    if laid["length_mm"] < needed - 1e-4:
        found.append(f"strip of {laid['length_mm']} where sawing takes {needed}")
    return found


def sawn_length(served: Sequence[tuple[Mapping[str, Any], int]], saw: Mapping[str, Any]) -> float:
    """Length that is used up when the segments are sawn one after the other.

    The saw kerf is a band leaning by ± the mitre. Every cut is followed at both edges of the
    strip: after a cut the wood begins where the band ends on each edge. Flipped, the strip is
    rolled over after each cut, so that edges change places and the mitre its sign on the wood.
    """
    strip = served[0][0]
    lean = strip["width_mm"] * math.tan(math.radians(strip["mitre_deg"]))
    band = saw["blade_kerf_mm"] / math.cos(math.radians(strip["mitre_deg"]))
    # The trim cut: the band leans from 0 on one edge to `lean` on the other.
    near, far = band, lean + band
    for segment, count in served:
        edge = segment["outer_edge_mm"]
        for _ in range(count):
            if saw["flip"]:
                # The long edge lies where the last cut reached least far; roll over.
                long_end = near + edge
                short_end = far + edge - 2 * lean
                near, far = short_end + band, long_end + band
            else:
                near = near + edge + band
                far = near + lean
    used = max(near, far) if saw["flip"] else near
    return used + saw["hold_tail_mm"]


def _count_faults(strips: Mapping[str, Any], layout: Mapping[str, Any]) -> list[str]:
    cut: Counter[str] = Counter()
    for board in layout["boards"]:
        for strip in board["strips"]:
            for pieces in strip["pieces"]:
                cut[pieces["strip"]] += pieces["count"]
    lacking = {row["strip"]: row["pieces"] for row in layout["short"]}
    found = [
        f"{name}: {cut[name]} cut and {lacking.get(name, 0)} short of {strip['count']}"
        for name, strip in strips.items()
        if cut[name] + lacking.get(name, 0) != strip["count"]
    ]
    found += [f"{row} short by nothing" for row in layout["short"] if row["pieces"] < 1]
    if (layout["status"] == "short") != bool(layout["short"]):
        found.append(f"status {layout['status']} with {len(layout['short'])} short rows")
    return found


def recomputed_cost(boards: Mapping[str, Any], layout: Mapping[str, Any]) -> float:
    """Value of the boards opened less the value of the offcuts returned."""
    cost = 0.0
    for laid in layout["boards"]:
        board = boards[laid["id"]]
        rate = board["price_per_board_foot"] * board["thickness_mm"] / MM3_PER_BOARD_FOOT
        cost += rate * board["length_mm"] * board["width_mm"]
        for offcut in laid["offcuts"]:
            part = 0.0
            if offcut["length_mm"] >= 300 and offcut["width_mm"] >= board["width_mm"] - NEAR:
                part = 1.0
            elif offcut["length_mm"] >= 300 and offcut["width_mm"] >= 40:
                part = 0.9
            area = offcut["length_mm"] * offcut["width_mm"]
            area -= _union_area([_clip(box(d), box(offcut)) for d in board.get("defects", [])])
            cost -= part * rate * area
    return cost


def _clip(a: Box, b: Box) -> Box:
    return Box(max(a.x0, b.x0), min(a.x1, b.x1), max(a.y0, b.y0), min(a.y1, b.y1))


def _union_area(boxes: Sequence[Box]) -> float:
    real = [b for b in boxes if b.x1 > b.x0 and b.y1 > b.y0]
    xs = sorted({x for b in real for x in (b.x0, b.x1)})
    ys = sorted({y for b in real for y in (b.y0, b.y1)})
    return sum(
        (x1 - x0) * (y1 - y0)
        for x0, x1 in pairwise(xs)
        for y0, y1 in pairwise(ys)
        if any(b.x0 <= x0 and x1 <= b.x1 and b.y0 <= y0 and y1 <= b.y1 for b in real)
    )


def _money_faults(boards: Mapping[str, Any], layout: Mapping[str, Any]) -> list[str]:
    found: list[str] = []
    cost = recomputed_cost(boards, layout)
    if not math.isclose(cost, layout["cost"], rel_tol=1e-6, abs_tol=1e-6):
        found.append(f"cost {layout['cost']}, recomputed {cost}")
    if layout["bound"] > layout["cost"] + 1e-6:
        found.append(f"bound {layout['bound']} above cost {layout['cost']}")
    proven = layout["cost"] - layout["bound"] <= 1e-3 * max(layout["cost"], 1e-12) + 1e-9
    if layout["status"] == "proven" and not proven:
        found.append("called proven with a gap")
    return found
