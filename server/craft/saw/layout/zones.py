"""Opening one board for a set of strips: one or two zones across it, a block of strips in each.

A zone is cross cut from the board over its full width; what lies beside its block goes back when
it is large enough, and so does what lies before and beyond it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.blocks import Blocks, parts_of
from server.craft.saw.layout.problem import (
    KEEP_LENGTH_UM,
    KEEP_WIDTH_UM,
    NARROW_WORTH,
    Rect,
    Stock,
    Wood,
)
from server.craft.saw.layout.sawn import Placed, Sawn, clear_rects, useful, whole

Floats = NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class Corner:
    """Where a block may start (µm), seen from the board's near lower corner after mirroring.

    `start` is where its zone begins: at the board's end, or behind a rest that goes back.
    """

    start: int
    front: int
    room: int
    base: int
    height: int
    far: bool = False
    upper: bool = False


@dataclass(frozen=True, slots=True)
class Zone:
    """A block of these strips at `at`, in a zone that reaches from `start` to `end` (µm)."""

    strips: int
    shape: int
    start: int
    at: int
    end: int


def corners_of(wood: Wood, stock: Stock) -> list[Corner]:
    """Every corner of the board's clear rectangles, and one that leaves both its ends whole."""
    length, width = stock.length_um, stock.width_um
    sides = (False, True) if stock.defects else (False,)
    found = []
    for x0, x1, y0, y1 in clear_rects(stock, (0, length, 0, width)):
        behind = max(x0, KEEP_LENGTH_UM + wood.cross_um)
        found.append(Corner(behind, behind, x1 - behind, y0, y1 - y0))
        for far in sides:
            for upper in sides:
                front = length - x1 if far else x0
                base = width - y1 if upper else y0
                found.append(Corner(0, front, x1 - x0, base, y1 - y0, far, upper))
    return [corner for corner in found if corner.room >= wood.shortest_um]


class Zones:
    """The cheapest opening of one board for every set of the blocks' strips.

    `costs[strips]` is its price as if the board had no defects; infinite where they do not fit.
    """

    def __init__(self, wood: Wood, stock: Stock, blocks: Blocks, allowed: int) -> None:
        self._wood, self._stock, self._blocks = wood, stock, blocks
        self._corners = corners_of(wood, stock)
        size = len(blocks.lengths)
        self.costs = np.full(size, np.inf)
        self.costs[0] = 0.0
        self._first: dict[int, tuple[Corner, Zone]] = {}
        self._second: dict[int, int] = {}
        self._openings(allowed)
        if not stock.defects:
            self._in_two(allowed)

    def _openings(self, allowed: int) -> None:
        if not self._corners:
            return
        table = np.array([(c.start, c.front, c.room, c.base, c.height) for c in self._corners])
        for strips in range(1, len(self.costs)):
            lengths, widths = self._blocks.lengths[strips], self._blocks.widths[strips]
            if strips & ~allowed or not len(lengths):
                continue
            ways, ends = self._ways(table, lengths[:, None], widths[:, None])
            place = int(ways.argmin())
            way, shape, corner = np.unravel_index(place, ways.shape)
            if np.isfinite(ways[way, shape, corner]):
                spot = self._corners[int(corner)]
                end = int(ends[way, shape, corner])
                self.costs[strips] = ways[way, shape, corner]
                zone = Zone(strips, int(shape), spot.start, spot.front, end)
                self._first[strips] = spot, zone

    def _ways(self, table: Any, lengths: Any, widths: Any) -> tuple[Floats, Floats]:
        """Prices, and where the zone ends: as short as may be, long enough to keep, to the end."""
        start, front, room, base, height = (table[None, :, column] for column in range(5))
        board, cross = self._stock.length_um, self._wood.cross_um
        fits = (lengths <= room) & (widths <= height)
        block_end = front + lengths
        beside = self._beside(base, widths)
        ends = np.stack(
            [
                np.broadcast_to(end, fits.shape)
                for end in (block_end, np.maximum(block_end, start + KEEP_LENGTH_UM), board)
            ]
        )
        beyond = board - ends - cross
        kept = np.where(start > 0, start - cross, 0) * self._stock.width_um
        kept = kept + np.where(beyond >= KEEP_LENGTH_UM, beyond, 0) * self._stock.width_um
        zone = ends - start
        narrow = np.where(zone >= KEEP_LENGTH_UM, zone, 0) * beside
        band = np.where((ends == board) & (board - block_end - cross >= KEEP_LENGTH_UM), 1, 0)
        band = band * (board - block_end - cross) * np.where(widths >= KEEP_WIDTH_UM, widths, 0)
        cost = board * self._stock.width_um - kept - NARROW_WORTH * (narrow + band)
        rate = self._stock.rate / 1e6
        return np.where(fits & (ends <= board), cost * rate, np.inf), ends

    def _beside(self, base: Any, widths: Any) -> Any:
        """Width that goes back above and below blocks of these widths."""
        above = self._stock.width_um - base - widths - self._wood.rip_um
        below = base - self._wood.rip_um
        return np.where(above >= KEEP_WIDTH_UM, above, 0) + np.where(
            below >= KEEP_WIDTH_UM, below, 0
        )

    def _in_two(self, allowed: int) -> None:
        """Sets that are cheaper in two zones, one behind the other, the rest of the board kept."""
        size, board = len(self.costs), self._stock.length_um
        cross, rate = self._wood.cross_um, self._stock.rate / 1e6
        price, length = np.full(size, np.inf), np.zeros(size)
        self._shapes: dict[int, tuple[int, int]] = {}
        for strips in range(1, size):
            lengths, widths = self._blocks.lengths[strips], self._blocks.widths[strips]
            if strips & ~allowed or not len(lengths):
                continue
            long = np.stack([lengths, np.maximum(lengths, KEEP_LENGTH_UM)])
            narrow = np.where(long >= KEEP_LENGTH_UM, long, 0) * self._beside(0, widths)
            cost = (long + cross) * self._stock.width_um - NARROW_WORTH * narrow
            cost = np.where(widths <= self._stock.width_um, cost * rate, np.inf)
            way, shape = np.unravel_index(int(cost.argmin()), cost.shape)
            price[strips], length[strips] = cost[way, shape], long[way, shape]
            self._shapes[strips] = int(shape), int(long[way, shape])
        ends = np.array([self._first[s][1].end if s in self._first else board for s in range(size)])
        single = self.costs.copy()
        for strips in range(1, size):
            ones = parts_of(strips)[1:-1]
            others = strips ^ ones
            room = board - ends[ones] - cross - length[others] - cross
            both = np.where(room >= KEEP_LENGTH_UM, single[ones] + price[others], np.inf)
            if len(ones) and both.min() < self.costs[strips]:
                place = int(both.argmin())
                self.costs[strips], self._second[strips] = both[place], int(others[place])

    def laid(self, strips: int) -> Sawn:
        """The board opened in the cheapest way for these strips."""
        second = self._second.get(strips, 0)
        corner, first = self._first[strips ^ second]
        zones = [first]
        if second:
            start = first.end + self._wood.cross_um
            shape, length = self._shapes[second]
            zones.append(Zone(second, shape, start, start, start + length))
        placed, rests = [], []
        for part in self._all_of(corner, zones):
            if isinstance(part, Placed):
                x0, _, y0, _ = self._turned(part.rect, corner)
                placed.append(replace(part, x_um=x0, y_um=y0))
            else:
                rests.append(self._turned(part, corner))
        kept = tuple(rest for rest in rests if useful(self._wood, self._stock, rest))
        return Sawn(self._stock, tuple(placed), kept, whole(self._stock))

    def _turned(self, rect: Rect, corner: Corner) -> Rect:
        x0, x1, y0, y1 = rect
        length, width = self._stock.length_um, self._stock.width_um
        if corner.far:
            x0, x1 = length - x1, length - x0
        if corner.upper:
            y0, y1 = width - y1, width - y0
        return x0, x1, y0, y1

    def _all_of(self, corner: Corner, zones: list[Zone]) -> Iterator[Placed | Rect]:
        board, width = self._stock.length_um, self._stock.width_um
        cross, rip = self._wood.cross_um, self._wood.rip_um
        yield (0, corner.start - cross, 0, width)
        for zone in zones:
            long = int(self._blocks.lengths[zone.strips][zone.shape])
            top = corner.base + int(self._blocks.widths[zone.strips][zone.shape])
            yield (zone.start, zone.end, top + rip, width)
            yield (zone.start, zone.end, 0, corner.base - rip)
            yield (zone.start, zone.at - cross, corner.base, top)
            yield (zone.at + long + cross, zone.end, corner.base, top)
            yield from self._blocks.laid(zone.strips, zone.shape, zone.at, corner.base)
        yield (zones[-1].end + cross, board, 0, width)
