"""What lanes side by side are worth, for every section length and width at once.

A dynamic programme over the width: `best[b, g]` is the highest value of lanes that take at most
b units of width (kerfs included) in a section of length g. A lane whose own kind runs out may go
on with another, narrower kind behind it.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.fill import fullest_table, table_cells
from server.craft.saw.layout.problem import UM, Wood

Floats = NDArray[np.floating[Any]]
Ints = NDArray[np.int64]

_UNITS_UM = (UM, UM // 2, UM // 4, UM // 10)
_EQUAL = 1e-5
_WORK_A_CELL = 6e-6


class Widths:
    """Widths in the coarsest unit that measures every lane of a wood exactly, else a fine one."""

    def __init__(self, wood: Wood) -> None:
        lanes = [kind.width_um + wood.rip_um for kind in wood.kinds]
        exact = [u for u in _UNITS_UM if all(lane % u == 0 for lane in lanes)]
        self.unit_um = exact[0] if exact else _UNITS_UM[2]
        self.lanes = [-(-lane // self.unit_um) for lane in lanes]
        self._rip_um = wood.rip_um

    def units(self, height_um: int) -> int:
        """Units of width in a rest of this height; its last lane needs no kerf beyond it."""
        return max(0, (height_um + self._rip_um) // self.unit_um)


class Fullness:
    """The longest sum of pitches for any lane length, looked up."""

    def __init__(self, wood: Wood) -> None:
        longest = max((stock.length_um for stock in wood.stocks), default=0)
        tables = [fullest_table(wood, kind, longest) for kind in range(len(wood.kinds))]
        self._tables = np.array(tables) if tables else np.zeros((0, 1))

    def at(self, lengths_um: Ints) -> Floats:
        """Row for each kind: its fullest lane of each of these lengths, in µm of pitches."""
        cells = np.minimum(table_cells(lengths_um), self._tables.shape[1] - 1)
        return self._tables[:, np.maximum(cells, 0)]


class Values:
    """The table for some kinds, some prices (money for a µm of pitches) and what is left."""

    def __init__(
        self,
        wood: Wood,
        widths: Widths,
        fullness: Fullness,
        kinds: Sequence[int],
        lengths_um: Ints,
        units: int,
        prices: Sequence[float],
        left_um: Sequence[int],
    ) -> None:
        self.lengths_um = lengths_um
        self.prices = prices
        self.kinds = [kind for kind in kinds if left_um[kind] > 0 and prices[kind] > 0]
        self._lanes = widths.lanes
        self._offers = self._lane_values(wood, fullness, units, left_um)
        self._before: list[NDArray[np.float32]] = []
        self.best = self._fill(units)

    def _lane_values(
        self, wood: Wood, fullness: Fullness, units: int, left_um: Sequence[int]
    ) -> dict[int, NDArray[np.float32]]:
        """For each kind a row for 1, 2, … lanes of it: their value at every length."""
        full = fullness.at(self.lengths_um)
        prices = np.array(self.prices)
        offers = {}
        for kind in self.kinds:
            left = float(left_um[kind])
            counts = np.arange(1, units // self._lanes[kind] + 1)[:, None]
            made = counts * full[kind][None, :]
            enough = int((made < left).any(axis=1).sum()) + 1
            value = prices[kind] * np.minimum(made[:enough], left)
            self._go_on(wood, fullness, kind, made[:enough], value, left_um)
            offers[kind] = value.astype(np.float32)
        return offers

    def _go_on(
        self,
        wood: Wood,
        fullness: Fullness,
        kind: int,
        made: Floats,
        value: Floats,
        left_um: Sequence[int],
    ) -> None:
        """Add what narrower kinds give behind the lane in which this kind runs out."""
        this = wood.kinds[kind]
        others = [k for k in self.kinds if k != kind and wood.kinds[k].width_um <= this.width_um]
        if not others or not len(made):
            return
        ends = made >= left_um[kind]
        first = ends & ~np.vstack([np.zeros((1, made.shape[1]), bool), ends[:-1]])
        rows, columns = np.nonzero(first)
        if not len(rows):
            return
        each = made[0, columns]
        last = left_um[kind] - rows * each + this.setup_um
        behind = self.lengths_um[columns] - np.maximum(last, wood.shortest_um) - wood.cross_um
        behind = np.where(behind >= wood.shortest_um, behind, 0).astype(np.int64)
        left = np.array([left_um[k] for k in others], float)[:, None]
        prices = np.array([self.prices[k] for k in others])[:, None]
        more = (prices * np.minimum(fullness.at(behind)[others], left)).max(axis=0)
        value[rows, columns] += more

    def _fill(self, units: int) -> NDArray[np.float32]:
        best = np.zeros((units + 1, len(self.lengths_um)), np.float32)
        for kind in self.kinds:
            base = best.copy()
            self._before.append(base)
            for count, value in enumerate(self._offers[kind], 1):
                taken = count * self._lanes[kind]
                np.maximum(best[taken:], base[: units + 1 - taken] + value, out=best[taken:])
        return best

    @property
    def work(self) -> float:
        """What filling the table took."""
        return _WORK_A_CELL * self.best.size * sum(len(offers) for offers in self._offers.values())

    def pick(self, units: int, column: int) -> dict[int, int]:
        """Lanes of each kind that make `best[units, column]`."""
        picked = {}
        reached = float(self.best[units, column])
        for kind, before in zip(reversed(self.kinds), reversed(self._before), strict=True):
            if before[units, column] >= reached - _EQUAL * abs(reached):
                reached = float(before[units, column])
                continue
            lane = self._lanes[kind]
            values = self._offers[kind][: units // lane, column]
            rests = units - lane * np.arange(1, len(values) + 1)
            count = int((before[rests, column] + values).argmax()) + 1
            picked[kind] = count
            units -= count * lane
            reached = float(before[units, column])
        return picked
