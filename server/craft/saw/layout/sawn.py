"""A board being sawn: strips laid so far and the free rests, kept as a tree of straight cuts.

Every rest is the leaf of such a tree, so whatever is laid into it can be cut by straight cuts
through what is left. Coordinates are µm from the board's end (x) and edge (y).
"""

from dataclasses import dataclass

from server.craft.saw.layout.problem import (
    KEEP_LENGTH_UM,
    KEEP_WIDTH_UM,
    NARROW_WORTH,
    Rect,
    Stock,
    Wood,
)

UM2_PER_MM2 = 1_000_000
Contents = tuple[tuple[int, int], ...]
"""(item, count) of a laid strip."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A laid strip."""

    x_um: int
    y_um: int
    length_um: int
    width_um: int
    kind: int
    contents: Contents

    @property
    def rect(self) -> Rect:
        """Where it lies."""
        x, y = self.x_um, self.y_um
        return (x, x + self.length_um, y, y + self.width_um)


@dataclass(frozen=True, slots=True)
class Sawn:
    """One board, what is laid on it, and the state before the last section was laid."""

    stock: Stock
    strips: tuple[Placed, ...]
    rests: tuple[Rect, ...]
    before: "Sawn | None" = None

    @property
    def cost(self) -> float:
        """Value of the board less what goes back; nothing while it is not opened."""
        if not self.strips:
            return 0.0
        return self.stock.value - sum(worth(self.stock, rest) for rest in self.rests)


def whole(stock: Stock) -> Sawn:
    """The board before the first cut."""
    return Sawn(stock, (), ((0, stock.length_um, 0, stock.width_um),))


def share(stock: Stock, length_um: int, width_um: int) -> float:
    """Which part of its area's price an offcut of this size is worth."""
    if length_um < KEEP_LENGTH_UM:
        return 0.0
    if width_um >= stock.width_um:
        return stock.returns
    return NARROW_WORTH * stock.returns if width_um >= KEEP_WIDTH_UM else 0.0


def worth(stock: Stock, rest: Rect) -> float:
    """Money that a rest is worth when it goes back on the rack."""
    part = share(stock, rest[1] - rest[0], rest[3] - rest[2])
    return part * stock.rate * clear_um2(stock, rest) / UM2_PER_MM2 if part else 0.0


def clear_um2(stock: Stock, rest: Rect) -> int:
    """Area of a rest without its defects."""
    x0, x1, y0, y1 = rest
    spoilt = 0
    for a0, a1, b0, b1 in stock.defects:
        wide, high = min(x1, a1) - max(x0, a0), min(y1, b1) - max(y0, b0)
        if wide > 0 and high > 0:
            spoilt += wide * high
    return (x1 - x0) * (y1 - y0) - spoilt


def useful(wood: Wood, stock: Stock, rest: Rect) -> bool:
    """Whether a rest can hold a strip or is worth something on the rack."""
    x0, x1, y0, y1 = rest
    if x1 <= x0 or y1 <= y0:
        return False
    if share(stock, x1 - x0, y1 - y0):
        return True
    inside = min(x1, stock.length_um - stock.trim_um) - max(x0, stock.trim_um)
    return y1 - y0 >= stock.narrowest_um and inside >= max(1, wood.shortest_um)


_MOST_CLEAR = 12


def clear_rects(stock: Stock, rest: Rect) -> list[Rect]:
    """The largest rectangles of a rest between trims and off defects; they may overlap."""
    x0, x1 = max(rest[0], stock.trim_um), min(rest[1], stock.length_um - stock.trim_um)
    if x0 >= x1:
        return []
    found = [(x0, x1, rest[2], rest[3])]
    for a0, a1, b0, b1 in stock.defects:
        split: list[Rect] = []
        for x0, x1, y0, y1 in found:
            if a1 <= x0 or x1 <= a0 or b1 <= y0 or y1 <= b0:
                split.append((x0, x1, y0, y1))
                continue
            parts = ((x0, a0, y0, y1), (a1, x1, y0, y1), (x0, x1, y0, b0), (x0, x1, b1, y1))
            split += [part for part in parts if part[0] < part[1] and part[2] < part[3]]
        found = _largest(split)
    return found


def _largest(rects: list[Rect]) -> list[Rect]:
    ordered = sorted(set(rects), key=lambda r: (-(r[1] - r[0]) * (r[3] - r[2]), r))
    kept: list[Rect] = []
    for rect in ordered:
        inside = any(
            k[0] <= rect[0] and rect[1] <= k[1] and k[2] <= rect[2] and rect[3] <= k[3]
            for k in kept
        )
        if not inside:
            kept.append(rect)
    return kept[:_MOST_CLEAR]


def sound(sawn: Sawn) -> bool:
    """Whether every strip lies on its board, between the trims and off the defects."""
    stock = sawn.stock
    for strip in sawn.strips:
        x0, x1 = strip.x_um, strip.x_um + strip.length_um
        y0, y1 = strip.y_um, strip.y_um + strip.width_um
        if x0 < stock.trim_um or x1 > stock.length_um - stock.trim_um:
            return False
        if y0 < 0 or y1 > stock.width_um:
            return False
        if any(a0 < x1 and x0 < a1 and b0 < y1 and y0 < b1 for a0, a1, b0, b1 in stock.defects):
            return False
    return True
