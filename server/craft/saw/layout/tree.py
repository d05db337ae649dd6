"""The rests around strips that are already laid, found by cutting the board up again."""

from collections.abc import Iterator, Sequence

from server.craft.saw.layout.problem import Rect, Stock, Wood
from server.craft.saw.layout.sawn import Placed, useful


def rests_around(wood: Wood, stock: Stock, strips: Sequence[Placed]) -> tuple[Rect, ...] | None:
    """Every useful rest beside these strips; None if straight cuts cannot free them."""
    wanted = [strip.rect for strip in strips]
    board = (0, stock.length_um, 0, stock.width_um)
    try:
        found = list(_rests(board, wanted, wood))
    except _StuckError:
        return None
    return tuple(rest for rest in found if useful(wood, stock, rest))


class _StuckError(Exception):
    """No straight cut separates what is left."""


def _rests(part: Rect, wanted: list[Rect], wood: Wood) -> Iterator[Rect]:
    x0, x1, y0, y1 = part
    a0, a1 = min(w[0] for w in wanted), max(w[1] for w in wanted)
    b0, b1 = min(w[2] for w in wanted), max(w[3] for w in wanted)
    yield from ((x0, a0 - wood.cross_um, y0, y1), (a1 + wood.cross_um, x1, y0, y1))
    yield from ((a0, a1, y0, b0 - wood.rip_um), (a0, a1, b1 + wood.rip_um, y1))
    if len(wanted) == 1:
        return
    for low, kerf in ((0, wood.cross_um), (2, wood.rip_um)):
        groups = _groups(wanted, low, kerf)
        if len(groups) > 1:
            for place, group in enumerate(groups):
                inside = [a0, a1, b0, b1]
                if place:
                    before = max(w[low + 1] for w in groups[place - 1])
                    inside[low] = before + kerf
                if place < len(groups) - 1:
                    inside[low + 1] = max(w[low + 1] for w in group)
                yield from _rests((inside[0], inside[1], inside[2], inside[3]), group, wood)
            return
    raise _StuckError


def _groups(wanted: list[Rect], low: int, kerf: int) -> list[list[Rect]]:
    groups: list[list[Rect]] = []
    reached = -kerf
    for rect in sorted(wanted, key=lambda r: (r[low], r)):
        if not groups or rect[low] >= reached + kerf:
            groups.append([])
        groups[-1].append(rect)
        reached = max(reached, rect[low + 1])
    return groups
