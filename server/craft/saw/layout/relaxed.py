"""The linear programme of the exact bound for boards whose modes are decided in part.

The same slices as in `slices.py`, chosen from all patterns that fit. Strips are at least so long,
trims are lost where an end does not go back, narrow offcuts are as high as the mode allows. Every
layout of these modes satisfies every row; defects are left out, which can only make it cheaper.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.counts import Pattern
from server.craft.saw.layout.linear import solved
from server.craft.saw.layout.modes import KEEP_MM, KEEP_WIDE_MM, Mode, Shape
from server.craft.saw.layout.problem import UM, Stock, Wood

Floats = NDArray[np.floating[Any]]
Limits = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Board:
    """One board's patterns, the rest beside each (mm), and where its columns and rows begin."""

    stock: Stock
    shape: Shape
    patterns: tuple[Pattern, ...]
    lanes: Floats
    rests: Floats
    column: int
    row: int

    @property
    def opened(self) -> int:
        """The column that tells whether it is opened."""
        return self.column + 2 * len(self.patterns)

    def strips(self, place: int) -> int:
        """The column that counts the strips of the kind at this place of `stock.fits`."""
        return self.opened + 1 + place


@dataclass(frozen=True, slots=True)
class Solution:
    """The least cost and the values of all columns; `work` it took."""

    cost: float
    values: Floats
    work: float


_ZONE_MOST, _ZONE_LEAST, _BUSY, _BARE, _KERF, _BESIDE = range(6)
_ROWS = 6
_WORK_A_SOLVE = 1.0
_WORK_A_COLUMN = 2e-3
_WORK_A_STEP = 4e-5


class Relaxed:
    """The programme of one wood; modes and limits of strips change from solve to solve."""

    def __init__(self, wood: Wood, listed: Sequence[Sequence[Pattern]], lacking: int) -> None:
        self.wood = wood
        self.boards: list[Board] = []
        column, row = 0, len(wood.kinds) + 1
        for stock, patterns in zip(wood.stocks, listed, strict=True):
            board = self._board(stock, tuple(patterns), column, row)
            self.boards.append(board)
            column = board.opened + 1 + len(stock.fits)
            row += _ROWS + 2 * len(stock.fits)
        self._missing = column
        columns = column + len(wood.kinds)
        self._matrix = np.zeros((row, columns))
        self._cost = np.zeros(columns)
        self._upper = np.full(columns, np.inf)
        self._lower = np.zeros(columns)
        self._limits = (np.full(row, -np.inf), np.full(row, np.inf))
        self._demands(lacking)
        for board in self.boards:
            self._rows_of(board)

    def _board(self, stock: Stock, patterns: tuple[Pattern, ...], column: int, row: int) -> Board:
        wood = self.wood
        lanes = np.array(patterns, float)
        widths = np.array([(kind.width_um + wood.rip_um) / UM for kind in wood.kinds])
        shape = Shape(stock, wood.cross_um, wood.rip_um)
        return Board(stock, shape, patterns, lanes, shape.width - lanes @ widths, column, row)

    def _demands(self, lacking: int) -> None:
        """Every kind is cut: lengths less what each strip needs before its first segment."""
        wood = self.wood
        for kind, this in enumerate(wood.kinds):
            items = [wood.items[item] for item in this.items]
            self._limits[0][kind] = sum(i.count * (i.pitch_um - 1) for i in items) / UM
            self._matrix[kind, self._missing + kind] = max(i.pitch_um for i in items) / UM
            for board in self.boards:
                if kind in board.stock.fits:
                    place = board.stock.fits.index(kind)
                    each = (this.setup_um - 1) / UM + board.shape.behind
                    self._matrix[kind, board.column : board.opened] = np.tile(
                        board.lanes[:, kind], 2
                    )
                    self._matrix[kind, board.strips(place)] = -each
        last = len(wood.kinds)
        self._matrix[last, self._missing :] = 1.0
        self._limits[1][last] = lacking

    def _rows_of(self, board: Board) -> None:
        matrix, shape, (least, most) = self._matrix, board.shape, self._limits
        count, first, opened = len(board.patterns), board.column, board.opened
        plain, beside = slice(first, first + count), slice(first + count, opened)
        both = slice(first, opened)
        busy = np.tile(board.lanes.any(axis=1), 2)
        row = board.row
        matrix[[row + _ZONE_MOST, row + _ZONE_LEAST], both] = 1.0
        matrix[row + _BUSY, both] = busy
        matrix[row + _BUSY, opened] = -shape.usable
        matrix[row + _BARE, both] = ~busy
        matrix[row + _KERF, plain] = 1.0
        matrix[row + _BESIDE, beside] = 1.0
        most[[row + _ZONE_MOST, row + _BUSY]] = 0.0
        least[[row + _ZONE_LEAST, row + _BARE, row + _KERF, row + _BESIDE]] = 0.0
        self._cost[both] = shape.per_mm
        shortest = self.wood.shortest_um / UM + shape.behind
        for place, kind in enumerate(board.stock.fits):
            low = row + _ROWS + 2 * place
            matrix[[low, low + 1], both] = np.tile(board.lanes[:, kind], 2)
            matrix[low, board.strips(place)] = -shortest
            matrix[low + 1, board.strips(place)] = -shape.usable
            least[low], most[low + 1] = 0.0, 0.0

    def solve(
        self, modes: Sequence[Mode], strips: dict[tuple[int, int], Limits]
    ) -> Solution | None:
        """The least cost with these modes and limits of (board, kind); None where it cannot be."""
        matrix, cost, upper = self._matrix, self._cost.copy(), self._upper.copy()
        lower = self._lower.copy()
        for board, mode in zip(self.boards, modes, strict=True):
            self._set_mode(board, mode, cost, lower, upper)
        for (place, kind), (low, high) in strips.items():
            board = self.boards[place]
            column = board.strips(board.stock.fits.index(kind))
            lower[column], upper[column] = low, high
            over = np.tile(board.lanes[:, kind] > high, 2)
            upper[board.column : board.opened][over] = 0.0
        found = solved(matrix, cost, (lower, upper), self._limits)
        if found is None:
            return None
        value, values, steps = found
        size = len(cost)
        work = _WORK_A_SOLVE + _WORK_A_COLUMN * size + _WORK_A_STEP * steps * size
        return Solution(value, values, work)

    def _set_mode(
        self, board: Board, mode: Mode, cost: Floats, lower: Floats, upper: Floats
    ) -> None:
        shape, matrix, row = board.shape, self._matrix, board.row
        opened, count = board.opened, len(board.patterns)
        first, middle = board.column, board.column + count
        lower[opened] = float(mode.opened is True)
        upper[opened] = float(mode.opened is not False)
        if mode.opened is False:
            upper[first:opened] = 0.0
            return
        low, high = shape.zone(mode)
        heights = np.array([shape.height(mode, float(rest)) for rest in board.rests])
        cost[middle:opened] -= 0.9 * shape.rate * heights
        upper[middle:opened][heights <= 0] = 0.0
        cost[opened] = shape.per_mm * shape.cross if mode.ends == 2 else 0.0
        matrix[row + _ZONE_MOST, opened] = -high
        matrix[row + _ZONE_LEAST, opened] = -low
        matrix[row + _BARE, opened] = -shape.bare(mode)
        matrix[row + _KERF, opened] = -shape.behind if mode.ends else 0.0
        several = mode.beside == "several"
        matrix[row + _BESIDE, middle:opened] = heights if several else 1.0
        least = max(mode.low_mm, 2 * KEEP_WIDE_MM) if several else 1.0
        matrix[row + _BESIDE, opened] = (
            -KEEP_MM * least if mode.beside in ("one", "several", "long") else 0.0
        )
