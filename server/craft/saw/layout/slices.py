"""A board as slices across it: the relaxation on which the bound stands.

Look at any layout along one line across the board. The strips that the line meets lie side by
side with a rip kerf between them, so their widths fit the board's width there. Lengthen every
strip by the cross kerf behind it: still nothing overlaps, because strips end to end are a cross
kerf apart. So every layout, however it is cut, is a stack of such slices, and the best slices
by length are at least as cheap as it is. What a slice costs follows the contract's account.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

from server.craft.saw.layout.problem import (
    KEEP_LENGTH_UM,
    NARROW_WORTH,
    UM,
    Stock,
    Wood,
)
from server.craft.saw.layout.sawn import UM2_PER_MM2


@dataclass(frozen=True, slots=True)
class Stretch:
    """A length of board whose slices are alike: heights (µm) of its clear bands."""

    length_mm: float
    bands: tuple[int, ...]
    blocked_um: int


@dataclass(frozen=True, slots=True)
class Way:
    """One way to open a board: at most `length_mm` of slices with strips, and what it loses."""

    length_mm: float
    loss: float


@dataclass(frozen=True, slots=True)
class SlicedBoard:
    """One board for the bound, and how many are like it.

    `first` is its place among the wood's boards; `yields[kind]` are mm of pitches for each mm of
    its slices.
    """

    stock: Stock
    first: int
    count: int
    rate_um: float
    stretches: tuple[Stretch, ...]
    ways: tuple[Way, ...]
    spoilt: float
    yields: dict[int, float]


def sliced_boards(wood: Wood) -> list[SlicedBoard]:
    """Every different board of a wood, in the order in which they are alike."""
    places: dict[int, list[int]] = {}
    for index, stock in enumerate(wood.stocks):
        places.setdefault(stock.alike, []).append(index)
    return [_sliced(wood, same[0], len(same)) for same in places.values()]


def _sliced(wood: Wood, first: int, count: int) -> SlicedBoard:
    """The board's slices, its ways, and how much of each kind a mm of lane can give at most."""
    stock = wood.stocks[first]
    trim, cross = stock.trim_um, wood.cross_um
    behind = min(trim, cross)
    length, width = stock.length_um, stock.width_um
    usable = length - 2 * trim
    per_mm = stock.rate * width / UM
    ways = [Way((usable + behind) / UM, (1 - NARROW_WORTH) * per_mm * (2 * trim - behind) / UM)]
    if length - trim - KEEP_LENGTH_UM > 0:
        loss = (1 - NARROW_WORTH) * per_mm * trim / UM
        ways.append(Way((length - trim - KEEP_LENGTH_UM) / UM, loss))
    if length - 2 * KEEP_LENGTH_UM - cross > 0:
        ways.append(Way((length - 2 * KEEP_LENGTH_UM - cross) / UM, per_mm * cross / UM))
    spoilt = sum((d[1] - d[0]) * (d[3] - d[2]) for d in stock.defects)
    return SlicedBoard(
        stock,
        first,
        count,
        stock.rate * width / UM,
        tuple(_stretches(stock, trim, length - trim + behind, behind)),
        tuple(ways),
        stock.rate * spoilt / UM2_PER_MM2,
        {kind: _yield(wood, kind, usable, behind) for kind in stock.fits},
    )


def _yield(wood: Wood, kind: int, usable_um: int, behind_um: int) -> float:
    """The most pitches that one strip can hold against the length that it takes."""
    this = wood.kinds[kind]
    room = usable_um - this.setup_um
    if len(this.items) == 1:
        pitch = wood.items[this.items[0]].pitch_um
        room = min(wood.items[this.items[0]].count, room // pitch) * pitch
    held = min(room, this.total_um)
    if held <= 0:
        return 0.0
    return held / (max(wood.shortest_um, held + this.setup_um) + behind_um)


def _stretches(stock: Stock, start: int, end: int, behind: int) -> list[Stretch]:
    """Cut the usable length where defects begin and end; a kerf may run on into a defect."""
    bad = [(a0 + behind, a1, b0, b1) for a0, a1, b0, b1 in stock.defects if a0 + behind < a1]
    marks = sorted({start, end, *(x for d in bad for x in d[:2] if start < x < end)})
    found = []
    for x0, x1 in pairwise(marks):
        spans = sorted((d[2], d[3]) for d in bad if d[0] <= x0 and x1 <= d[1])
        bands, reached = [], 0
        for low, high in spans:
            if low > reached:
                bands.append(low - reached)
            reached = max(reached, high)
        bands.append(stock.width_um - reached)
        kept = tuple(band for band in bands if band > 0)
        found.append(Stretch((x1 - x0) / UM, kept, stock.width_um - sum(kept)))
    return found


def lane_units(wood: Wood, unit_um: int) -> list[int]:
    """Width of a lane with its kerf in whole units, rounded down: never wider than it is."""
    return [(kind.width_um + wood.rip_um) // unit_um for kind in wood.kinds]


def band_units(wood: Wood, unit_um: int, band_um: int) -> int:
    """Units in a band, rounded up; its last lane needs no kerf behind it."""
    return math.ceil((band_um + wood.rip_um) / unit_um)
