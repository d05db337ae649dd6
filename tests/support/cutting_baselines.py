"""What the optimiser is measured against: a careful person's first fit, and a packing library.

Both answer in the contract's form, so that the same checker prices them.
"""

import math
from typing import Any

import rectpack
from cutting_checker import recomputed_cost, saw_with_defaults

Request = dict[str, Any]
Layout = dict[str, Any]


def lengths(strip: dict[str, Any], saw: dict[str, Any]) -> tuple[float, float]:
    """(what a strip takes before its first segment, what each segment takes), in mm."""
    lean = strip["width_mm"] * math.tan(math.radians(strip["mitre_deg"]))
    cut = saw["blade_kerf_mm"] / math.cos(math.radians(strip["mitre_deg"]))
    if not saw["flip"]:
        lean = 0.0
    return lean + cut + saw["hold_tail_mm"], strip["outer_edge_mm"] - lean + cut


def clear_lengths(board: dict[str, Any], saw: dict[str, Any]) -> list[tuple[float, float]]:
    """Full-width stretches of a board between its trims and defects."""
    own = board.get("end_trim_mm")
    trim = saw["end_trim_mm"] if own is None else own
    start, end, found = trim, board["length_mm"] - trim, []
    for defect in sorted(board.get("defects", []), key=lambda d: d["x_mm"]):
        if defect["x_mm"] > start:
            found.append((start, min(end, defect["x_mm"])))
        start = max(start, defect["x_mm"] + defect["length_mm"])
    found.append((start, end))
    return [(a, b) for a, b in found if b - a > 0]


def priced(request: Request, boards: list[Any], left: dict[str, int]) -> Layout:
    strips = {strip["id"]: strip for strip in request["strips"]}
    layout = {
        "boards": boards,
        "bound": 0.0,
        "short": [
            {"strip": name, "wood": strips[name]["wood"], "pieces": count}
            for name, count in left.items()
            if count
        ],
    }
    rack = {board["id"]: board for board in request["rack"]}
    layout["status"] = "short" if layout["short"] else "bounded"
    layout["cost"] = recomputed_cost(rack, layout)
    return layout


def first_fit(request: Request) -> Layout:
    """Offcuts first; a section as long as the longest strip still needed, ripped widest first.

    Rings of one width share a strip. The next section comes behind it; what is left of the
    board, and beside a section of 300 mm, goes back.
    """
    saw = saw_with_defaults(request)
    left = {strip["id"]: strip["count"] for strip in request["strips"]}
    boards = []
    order = sorted(
        request["rack"],
        key=lambda b: (
            b["price_per_board_foot"] * b["thickness_mm"] * b["width_mm"] * b["length_mm"]
        ),
    )
    for board in order:
        for copy in range(1, board.get("count", 1) + 1):
            laid = _sections(request, board, saw, left)
            if laid["strips"]:
                boards.append({"id": board["id"], "copy": copy, **laid})
    return priced(request, boards, left)


def _sections(
    request: Request, board: dict[str, Any], saw: dict[str, Any], left: dict[str, int]
) -> dict[str, Any]:
    fits = [
        strip
        for strip in request["strips"]
        if strip["wood"] == board["wood"]
        and strip["thickness_mm"] + saw["plane_mm"] <= board["thickness_mm"] + 1e-9
        and strip["width_mm"] <= board["width_mm"]
    ]
    strips, offcuts, reached = [], [], 0.0
    for start, end in clear_lengths(board, saw):
        x = start
        while True:
            todo = [s for s in fits if left[s["id"]]]
            todo.sort(key=lambda s: (-s["width_mm"], s["id"]))
            room = end - x
            if not todo or room < saw["shortest_strip_mm"]:
                break
            setup, pitch = lengths(todo[0], saw)
            need = max(saw["shortest_strip_mm"], setup + pitch * left[todo[0]["id"]])
            section = _section(todo, board, saw, left, x, min(room, need))
            if not section:
                break
            strips += section
            stop = max(s["x_mm"] + s["length_mm"] for s in section)
            beside = max(s["y_mm"] + s["width_mm"] for s in section) + saw["rip_kerf_mm"]
            if stop - x >= 300 and board["width_mm"] - beside >= 40:
                size = {"length_mm": stop - x, "width_mm": board["width_mm"] - beside}
                offcuts.append({"x_mm": x, "y_mm": beside, **size})
            reached = stop
            x = stop + saw["cross_kerf_mm"]
    rest = board["length_mm"] - reached - saw["cross_kerf_mm"]
    if strips and rest >= 300:
        size = {"length_mm": rest, "width_mm": board["width_mm"]}
        offcuts.append({"x_mm": board["length_mm"] - rest, "y_mm": 0.0, **size})
    return {"strips": strips, "offcuts": offcuts}


def _section(
    todo: list[dict[str, Any]],
    board: dict[str, Any],
    saw: dict[str, Any],
    left: dict[str, int],
    x: float,
    length: float,
) -> list[dict[str, Any]]:
    y, laid = 0.0, []
    for first in todo:
        while left[first["id"]] and y + first["width_mm"] <= board["width_mm"] + 1e-9:
            kind = ("width_mm", "thickness_mm", "mitre_deg")
            mates = [s for s in todo if all(s[k] == first[k] for k in kind)]
            setup, _ = lengths(first, saw)
            used, pieces = setup, []
            for mate in [first, *(m for m in mates if m is not first)]:
                _, pitch = lengths(mate, saw)
                count = min(left[mate["id"]], int((length - used) / pitch + 1e-9))
                if count > 0:
                    pieces.append({"strip": mate["id"], "count": count})
                    left[mate["id"]] -= count
                    used += count * pitch
            if not pieces:
                break
            size = {"length_mm": max(used, saw["shortest_strip_mm"]), "width_mm": first["width_mm"]}
            laid.append({"x_mm": x, "y_mm": y, **size, "pieces": pieces})
            y += first["width_mm"] + saw["rip_kerf_mm"]
    return laid


def packed(request: Request) -> Layout:
    """Each ring one rectangle (cut in two where no board is so long), packed by `rectpack`.

    Boards with defects give their clear lengths. What lies behind the last strip goes back.
    """
    saw = saw_with_defaults(request)
    left = {strip["id"]: strip["count"] for strip in request["strips"]}
    taken: dict[tuple[str, int], list[dict[str, Any]]] = {}
    groups = sorted({(s["wood"], s["thickness_mm"]) for s in request["strips"]}, reverse=True)
    for wood, thickness in groups:
        _pack(request, saw, wood, thickness, left, taken)
    rack = {board["id"]: board for board in request["rack"]}
    boards = []
    for (name, copy), strips in sorted(taken.items()):
        board = rack[name]
        reached = max(s["x_mm"] + s["length_mm"] for s in strips) + saw["cross_kerf_mm"]
        offcuts = []
        if board["length_mm"] - reached >= 300:
            size = {"length_mm": board["length_mm"] - reached, "width_mm": board["width_mm"]}
            offcuts.append({"x_mm": reached, "y_mm": 0.0, **size})
        boards.append({"id": name, "copy": copy, "strips": strips, "offcuts": offcuts})
    return priced(request, boards, left)


def _pack(
    request: Request,
    saw: dict[str, Any],
    wood: str,
    thickness: float,
    left: dict[str, int],
    taken: dict[tuple[str, int], list[dict[str, Any]]],
) -> None:
    cross, rip = saw["cross_kerf_mm"], saw["rip_kerf_mm"]
    packer = rectpack.newPacker(rotation=False, pack_algo=rectpack.GuillotineBssfSas)
    grounds = [
        (board, copy, start, end)
        for board in sorted(request["rack"], key=lambda b: b["width_mm"] * b["length_mm"])
        for copy in range(1, board.get("count", 1) + 1)
        for start, end in clear_lengths(board, saw)
        if board["wood"] == wood
        and board["thickness_mm"] >= thickness + saw["plane_mm"] - 1e-9
        and (board["id"], copy) not in taken
    ]
    if not grounds:
        return
    longest = max(end - start for _, _, start, end in grounds)
    for place, (board, _, start, end) in enumerate(grounds):
        packer.add_bin(end - start + cross, board["width_mm"] + rip, bid=place)
    for strip in request["strips"]:
        if (strip["wood"], strip["thickness_mm"]) != (wood, thickness):
            continue
        setup, pitch = lengths(strip, saw)
        most = int((longest - setup) / pitch)
        count = strip["count"]
        while count > 0 and most > 0:
            part = min(count, most)
            length = max(saw["shortest_strip_mm"], setup + pitch * part)
            packer.add_rect(length + cross, strip["width_mm"] + rip, rid=(strip["id"], part))
            count -= part
    packer.pack()
    for bid, x, y, length, width, (name, part) in (
        (abin.bid, r.x, r.y, r.width, r.height, r.rid) for abin in packer for r in abin
    ):
        board, copy, start, _ = grounds[bid]
        size = {"length_mm": length - cross, "width_mm": width - rip}
        pieces = [{"strip": name, "count": part}]
        laid = {"x_mm": start + x, "y_mm": y, **size, "pieces": pieces}
        taken.setdefault((board["id"], copy), []).append(laid)
        left[name] -= part
