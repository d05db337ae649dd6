"""The linear programme of the exact bound for boards whose modes are decided in part.

The same slices as in `slices.py`, chosen from all patterns that fit. Strips are at least so long,
trims are lost where an end does not go back, narrow offcuts are as high as the mode allows. Every
layout of these modes satisfies every row; defects are left out, which can only make it cheaper.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.counts import Pattern, most_strips
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


_ZONE_MOST, _ZONE_LEAST, _BUSY, _BARE, _KERF, _BESIDE, _ABSENT, _LINES = range(8)
MOST_LINES = 3
_ROWS = 7 + MOST_LINES
_TINY = 1e-6
_WORK_A_SOLVE = 1.0
_WORK_A_COLUMN = 2e-3
_WORK_A_STEP = 4e-5


class Relaxed:
    """The programme of one wood; modes and limits of strips change from solve to solve."""

    def __init__(self, wood: Wood, listed: Sequence[Sequence[Pattern]], lacking: int) -> None:
        self.wood = wood
        self._lacking = lacking
        self._alone = [most_strips(wood, kind) == 1 for kind in range(len(wood.kinds))]
        self._slack = [1 + sum(wood.items[i].count for i in kind.items) for kind in wood.kinds]
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
        most[row + _ABSENT] = 0.0
        most[row + _LINES : row + _ROWS] = 0.0
        self._cost[both] = shape.per_mm
        shortest = self.wood.shortest_um / UM + shape.behind
        for place, kind in enumerate(board.stock.fits):
            low = row + _ROWS + 2 * place
            matrix[[low, low + 1], both] = np.tile(board.lanes[:, kind], 2)
            matrix[low, board.strips(place)] = -shortest
            least[low], most[low + 1] = 0.0, 0.0

    def solve(
        self, modes: Sequence[Mode], strips: dict[tuple[int, int], Limits]
    ) -> Solution | None:
        """The least cost with these modes and limits of (board, kind); None where it cannot be."""
        matrix, cost, upper = self._matrix, self._cost.copy(), self._upper.copy()
        lower = self._lower.copy()
        lengths = self.least_lengths(strips)
        for board, mode in zip(self.boards, modes, strict=True):
            self._set_mode(board, mode, cost, lower, upper)
            self._set_strips(board, mode, lengths)
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
        # Where not all of several offcuts fit beside the strips one is absent; each of them is
        # absent at most where the zone is longer than the shortest offcut.
        abreast = shape.most_abreast() if several else 0
        absent = board.rests < mode.low_mm + shape.rip - _TINY
        matrix[row + _ABSENT, first:middle] = 1 - abreast if several else 0.0
        matrix[row + _ABSENT, middle:opened] = (absent - abreast) if several else 0.0
        matrix[row + _ABSENT, opened] = KEEP_MM * abreast

    def least_lengths(self, strips: dict[tuple[int, int], Limits]) -> list[float]:
        """The least length (mm) of a strip of each kind; all of it where there can be but one."""
        wood, found = self.wood, []
        for kind, this in enumerate(wood.kinds):
            boards = [i for i, board in enumerate(self.boards) if kind in board.stock.fits]
            most = sum(strips.get((i, kind), (0, 2))[1] for i in boards)
            whole = not self._lacking and (self._alone[kind] or most == 1)
            need = this.setup_um + this.total_um - self._slack[kind] if whole else 0
            found.append(max(wood.shortest_um, need) / UM)
        return found

    def hits(self, board: Board, mode: Mode, lines: int, lengths: Sequence[float]) -> Floats:
        """How many of so many lines across the board a strip of each of its kinds meets at least.

        The lines divide the stretch in which strips can lie into equal parts; whatever is longer
        than n of them meets n lines, wherever it lies.
        """
        part = board.shape.reach(mode) / (lines + 1)
        return np.array([_met(lengths[kind], part, lines) for kind in board.stock.fits])

    def _set_strips(self, board: Board, mode: Mode, lengths: Sequence[float]) -> None:
        """Rows for whole strips: what one holds at most, and their widths on some lines.

        On every line strips and offcuts lie side by side, so that with their kerfs they fit the
        board's width there. Added up over the lines that holds whatever each strip meets more
        often than at least.
        """
        shape, matrix, wood = board.shape, self._matrix, self.wood
        first = board.strips(0)
        widths = np.array([wood.kinds[k].width_um + wood.rip_um for k in board.stock.fits]) / UM
        for lines in range(1, MOST_LINES + 1):
            row = board.row + _LINES + lines - 1
            met = self.hits(board, mode, lines, lengths)
            matrix[row, first : first + len(met)] = met * widths
            matrix[row, board.opened] = -self.room(board, mode, lines)
        reach = round(shape.reach(mode) * UM)
        for place, kind in enumerate(board.stock.fits):
            row = board.row + _ROWS + 2 * place + 1
            matrix[row, first + place] = -longest_um(wood, kind, reach) / UM - shape.behind

    def room(self, board: Board, mode: Mode, lines: int) -> float:
        """Width that strips have on so many lines: the boards' less that of the offcuts there."""
        shape = board.shape
        part = shape.reach(mode) / (lines + 1)
        met = _met(shape.shortest(mode), part, lines)
        return lines * (shape.width + shape.rip) - met * shape.offcuts_mm(mode)


def longest_um(wood: Wood, kind: int, room_um: int) -> int:
    """The longest that a strip needs to be that is no longer than `room_um`."""
    this = wood.kinds[kind]
    held = min(room_um - this.setup_um, this.total_um)
    if len(this.items) == 1:
        item = wood.items[this.items[0]]
        held = min(item.count, max(0, held) // max(1, item.pitch_um - 1)) * item.pitch_um
    return max(wood.shortest_um, this.setup_um + max(0, held))


def _met(length: float, part: float, lines: int) -> int:
    """Lines a `part` apart that any stretch of this length meets, of so many."""
    return max(0, min(lines, math.ceil(length / part - _TINY) - 1)) if part > 0 else lines
