"""What lanes side by side are worth, for every section length and width at once.

A dynamic programme over the width: `best[b, g]` is the highest value of lanes that take at most
b units of width (kerfs included) in a section of length g.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.fill import fullest_table, table_cells
from server.craft.saw.layout.problem import UM, Wood

Floats = NDArray[np.floating[Any]]
Ints = NDArray[np.int64]

_UNITS_UM = (UM, UM // 2, UM // 4, UM // 10)


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
        self._tables = [fullest_table(wood, kind, longest) for kind in range(len(wood.kinds))]

    def at(self, lengths_um: Ints) -> list[Floats]:
        """For each kind the fullest lane of each of these lengths, in µm of pitches."""
        cells = table_cells(lengths_um)
        return [table[np.minimum(cells, len(table) - 1)] for table in self._tables]


@dataclass(frozen=True, slots=True)
class Values:
    """The table for some kinds, some prices and what is still to be cut."""

    lengths_um: Ints
    best: NDArray[np.float32]
    kinds: tuple[int, ...]
    full: list[Floats]
    prices: Sequence[float]
    left_um: Sequence[int]
    lanes: Sequence[int]

    def pick(self, units: int, column: int) -> dict[int, int]:
        """Lanes of each kind that make `best[units, column]`."""
        best = np.zeros(units + 1)
        steps: list[tuple[int, NDArray[np.int64]]] = []
        for kind in self.kinds:
            lane = self.lanes[kind]
            base, taken = best.copy(), np.zeros(units + 1, np.int64)
            for count in range(1, units // lane + 1):
                value = self._worth(kind, count, float(self.full[kind][column]))
                if value <= 0:
                    break
                offer = base[: units + 1 - count * lane] + value
                better = offer > best[count * lane :] + 1e-12
                best[count * lane :][better] = offer[better]
                taken[count * lane :][better] = count
                if count * self.full[kind][column] >= self.left_um[kind]:
                    break
            steps.append((kind, taken))
        picked = {}
        for kind, taken in reversed(steps):
            count = int(taken[units])
            if count:
                picked[kind] = count
                units -= count * self.lanes[kind]
        return picked

    def _worth(self, kind: int, count: int, full_um: float) -> float:
        return self.prices[kind] * min(count * full_um, self.left_um[kind])


def value_table(
    widths: Widths,
    units: int,
    kinds: tuple[int, ...],
    lengths_um: Ints,
    full: list[Floats],
    prices: Sequence[float],
    left_um: Sequence[int],
) -> Values:
    """Fill the table up to `units` of width; prices are money for each µm of pitches."""
    wanted = tuple(kind for kind in kinds if left_um[kind] > 0 and prices[kind] > 0)
    best = np.zeros((units + 1, len(lengths_um)), np.float32)
    for kind in wanted:
        lane = widths.lanes[kind]
        base = best.copy()
        for count in range(1, units // lane + 1):
            made = np.minimum(count * full[kind], left_um[kind])
            value = (prices[kind] * made).astype(np.float32)
            upper = best[count * lane :]
            np.maximum(upper, base[: units + 1 - count * lane] + value, out=upper)
            if np.all(count * full[kind] >= left_um[kind]):
                break
    return Values(lengths_um, best, wanted, full, prices, left_um, widths.lanes)
