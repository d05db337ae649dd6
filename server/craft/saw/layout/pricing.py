"""The most that one opened board can earn at given prices, in slices; the bound's inner problem."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.problem import (
    KEEP_LENGTH_UM,
    KEEP_WIDTH_UM,
    NARROW_WORTH,
    UM,
    Wood,
)
from server.craft.saw.layout.slices import SlicedBoard, band_units, lane_units
from server.craft.saw.layout.values import Widths

Floats = NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class Opening:
    """A board opened in one way: what it costs and the mm of pitches it gives of each kind.

    `pattern` is the number of lanes of each kind in its best slices, `length_mm` the most of them.
    """

    board: int
    cost: float
    gives: tuple[tuple[int, float], ...]
    pattern: tuple[int, ...]
    length_mm: float


class BoardPricer:
    """Prices every board of a wood at once."""

    def __init__(self, wood: Wood, boards: Sequence[SlicedBoard]) -> None:
        self.boards = boards
        self._kinds = len(wood.kinds)
        unit_um = Widths(wood).unit_um
        self._unit_mm = unit_um / UM
        self._lanes = np.array(lane_units(wood, unit_um))
        self._yields = np.zeros((len(boards), self._kinds))
        for row, board in enumerate(boards):
            for kind, part in board.yields.items():
                self._yields[row, kind] = part
        self._rates = np.array([board.stock.rate for board in boards])
        self._wood, self._unit_um = wood, unit_um
        self._most = max(band_units(wood, unit_um, b.stock.width_um) for b in boards)

    @property
    def work(self) -> float:
        """What pricing every board once, and the programme that asks for it, takes."""
        return 1.0 + len(self.boards) * (0.2 + 0.03 * self._kinds)

    def openings(self, prices: Floats) -> list[tuple[float, Opening]]:
        """For each board and way: profit at these prices for each mm of pitches, and how."""
        worth = self._yields * prices[None, :]
        full = _Lanes(self._lanes, worth, self._most)
        kept = NARROW_WORTH * self._rates[:, None] * (self._lanes * self._unit_mm)[None, :]
        net = _Lanes(self._lanes, worth - kept, self._most)
        found = []
        for row, board in enumerate(self.boards):
            slices = self._slices(row, board, full, net)
            for way in board.ways:
                left, profit = way.length_mm, -way.loss - board.spoilt
                gives = np.zeros(self._kinds)
                for gain, length_mm, lanes in slices:
                    used = min(left, length_mm)
                    left -= used
                    profit += gain * used
                    gives += lanes * used
                gives *= self._yields[row]
                cost = float(gives @ prices) - profit
                parts = tuple((k, float(g)) for k, g in enumerate(gives) if g > 0)
                lanes = slices[0][2] if slices else gives
                pattern = tuple(int(lane) for lane in lanes)
                found.append((profit, Opening(row, cost, parts, pattern, way.length_mm)))
        return found

    def patterns(self, prices: Floats) -> list[tuple[int, tuple[int, ...]]]:
        """(board, lanes of each kind) of the best full and the best thrifty slice of each board."""
        worth = self._yields * prices[None, :]
        full = _Lanes(self._lanes, worth, self._most)
        kept = NARROW_WORTH * self._rates[:, None] * (self._lanes * self._unit_mm)[None, :]
        net = _Lanes(self._lanes, worth - kept, self._most)
        found = []
        for row, board in enumerate(self.boards):
            width_um = board.stock.width_um
            picks = [full.pick(row, band_units(self._wood, self._unit_um, width_um))]
            if width_um > KEEP_WIDTH_UM and board.stock.length_um >= KEEP_LENGTH_UM:
                picks.append(net.pick(row, (width_um - KEEP_WIDTH_UM) // self._unit_um))
            found += [(row, tuple(int(lane) for lane in pick)) for pick in picks if pick.any()]
        return found

    def _slices(
        self, row: int, board: SlicedBoard, full: "_Lanes", net: "_Lanes"
    ) -> list[tuple[float, float, Floats]]:
        """(gain for each mm, mm, lanes of each kind) of the stretches that gain, best first."""
        rate = float(self._rates[row])
        found = []
        for stretch in board.stretches:
            gain, lanes = 0.0, np.zeros(self._kinds)
            for band_um in stretch.bands:
                plain = band_units(self._wood, self._unit_um, band_um)
                least = KEEP_WIDTH_UM if len(stretch.bands) == 1 else 0
                spare = -(-(band_um - least) // self._unit_um) if band_um >= least else -1
                best = full.value(row, plain)
                thrifty = -np.inf
                if spare >= 0 and board.stock.length_um >= KEEP_LENGTH_UM:
                    thrifty = net.value(row, spare) + NARROW_WORTH * rate * band_um / UM
                table, units = (net, spare) if thrifty > best else (full, plain)
                gain += max(best, thrifty) - rate * band_um / UM
                lanes = lanes + table.pick(row, units)
            if gain > 0:
                found.append((gain, stretch.length_mm, lanes))
        return sorted(found, key=lambda s: -s[0])


class _Lanes:
    """Unbounded knapsack over the width, for all boards at once."""

    def __init__(self, lanes: NDArray[np.int64], worth: Floats, most: int) -> None:
        self._lanes = [int(lane) for lane in lanes]
        self._worth = worth
        self._before: list[Floats] = []
        best = np.zeros((len(worth), most + 1))
        for kind, lane in enumerate(self._lanes):
            base = best.copy()
            self._before.append(base)
            each = worth[:, [kind]]
            for count in range(1, most // lane + 1):
                upper = best[:, count * lane :]
                np.maximum(upper, base[:, : most + 1 - count * lane] + count * each, out=upper)
        self._best = best

    def value(self, row: int, units: int) -> float:
        """The highest value of lanes in this width."""
        return float(self._best[row, units])

    def pick(self, row: int, units: int) -> Floats:
        """How many lanes of each kind make it."""
        lanes = np.zeros(len(self._lanes))
        for kind in range(len(self._lanes) - 1, -1, -1):
            lane, base = self._lanes[kind], self._before[kind][row]
            counts = np.arange(units // lane + 1)
            count = int((base[units - counts * lane] + counts * self._worth[row, kind]).argmax())
            lanes[kind] = count
            units -= count * lane
        return lanes
