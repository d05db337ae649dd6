"""The exact bound: which boards are opened, how, and in how many strips, case by case.

The case whose programme is cheapest is split next, so that the bound is what the cheapest case
costs, whenever it is asked for.
"""

import heapq
from dataclasses import dataclass, replace

import numpy as np

from server.craft.saw.layout.counts import most_strips, patterns_of
from server.craft.saw.layout.modes import KEEP_MM, Mode
from server.craft.saw.layout.problem import NARROW_WORTH, UM, Wood
from server.craft.saw.layout.relaxed import MOST_LINES, Limits, Relaxed, Solution

_MOST_PATTERNS = 4000
_MOST_BOARDS = 12
_SAFE = 1 - 1e-6
_SMALL = 1e-6
_SLOW = 4.0
_JUST_MM = 0.01

Strips = dict[tuple[int, int], Limits]


@dataclass(frozen=True, slots=True)
class Case:
    """Modes of all boards, limits on strips of (board, kind), and the programme's answer."""

    modes: tuple[Mode, ...]
    strips: Strips
    solution: Solution


@dataclass(frozen=True, slots=True)
class Split:
    """A decision still to be made: the money it may be about, and the cases."""

    money: float
    cases: tuple[tuple[tuple[Mode, ...], Strips], ...]


class Branching:
    """Works on the bound of one wood step by step. `bound` holds at any time."""

    def __init__(self, wood: Wood, lacking: int) -> None:
        self.work = 0.0
        self.bound = 0.0
        self._closed = float("inf")
        self._count = 0
        self._heap: list[tuple[float, int, Case]] = []
        self._strips = [most_strips(wood, kind) for kind in range(len(wood.kinds))]
        stocks = wood.stocks if len(wood.stocks) <= _MOST_BOARDS else ()
        listed = [patterns_of(wood, stock, self._strips, _MOST_PATTERNS) for stock in stocks]
        self.possible = bool(listed) and sum(map(len, listed)) <= _MOST_PATTERNS
        if self.possible:
            self._relaxed = Relaxed(wood, listed, lacking)
            self._push(tuple(Mode() for _ in listed), {})
            self._rise()

    @property
    def slow(self) -> bool:
        """Whether each step takes so much work that few can be made."""
        return self.work > _SLOW * max(1, self._count)

    @property
    def done(self) -> bool:
        """Whether nothing is left to be decided."""
        return not self._heap

    def step(self, enough: float) -> None:
        """Split the cheapest case; one that costs `enough` need not be looked at."""
        cost, _, case = heapq.heappop(self._heap)
        split = self._split(case) if cost < enough else None
        if split is None:
            self._closed = min(self._closed, cost)
        else:
            for modes, strips in split.cases:
                self._push(modes, strips)
        self._rise()

    def patterns(self) -> dict[int, list[tuple[int, ...]]]:
        """The lanes that the cheapest case uses on each board."""
        if not self.possible or not self._heap:
            return {}
        values = self._heap[0][2].solution.values
        used: dict[int, list[tuple[int, ...]]] = {}
        for place, board in enumerate(self._relaxed.boards):
            count = len(board.patterns)
            lengths = values[board.column : board.column + count]
            lengths = lengths + values[board.column + count : board.opened]
            order = np.argsort(-lengths, kind="stable")
            used[place] = [board.patterns[int(p)] for p in order if lengths[p] > 1.0]
        return used

    def _push(self, modes: tuple[Mode, ...], strips: Strips) -> None:
        solution = self._relaxed.solve(modes, strips)
        if solution is None:
            self.work += 1.0
            return
        self.work += solution.work
        self._count += 1
        cost = max(solution.cost, self.bound / _SAFE)
        heapq.heappush(self._heap, (cost, self._count, Case(modes, strips, solution)))

    def _rise(self) -> None:
        cheapest = min(self._closed, self._heap[0][0] if self._heap else float("inf"))
        if cheapest < float("inf"):
            self.bound = max(self.bound, cheapest * _SAFE)

    def _split(self, case: Case) -> Split | None:
        """The open decision that may be about most money; None where all is decided."""
        splits = [
            split
            for place in range(len(self._relaxed.boards))
            for split in self._splits_of(case, place)
        ]
        return max(splits, key=lambda split: split.money, default=None)

    def _splits_of(self, case: Case, place: int) -> list[Split]:
        board, mode = self._relaxed.boards[place], case.modes[place]
        values, shape = case.solution.values, board.shape
        opened = float(values[board.opened])
        if opened < _SMALL or mode.opened is False:
            return []
        splits = []
        if mode.opened is None:
            money = board.stock.value * min(opened, 1 - opened) + _SMALL
            cases = [Mode(opened=False), Mode(opened=True)]
            splits.append(self._modes(case, place, cases, money))
            if opened < 1 - _SMALL:
                return splits
            mode = Mode(opened=True)
        count = len(board.patterns)
        plain = values[board.column : board.column + count]
        beside = values[board.column + count : board.opened]
        zone = float(plain.sum() + beside.sum())
        heights = np.array([shape.height(mode, float(rest)) for rest in board.rests])
        narrow = NARROW_WORTH * shape.rate
        splits += self._by_zone(case, place, mode)
        if mode.ends is None:
            free = shape.length - zone
            money = shape.per_mm * (shape.trim + (free if 0 < free < KEEP_MM else 0.0))
            splits.append(self._modes(case, place, shape.by_ends(mode), money))
        if mode.beside == "any":
            credit = narrow * float(beside @ heights)
            if credit > _SMALL:
                splits.append(self._modes(case, place, shape.by_beside(mode), credit))
        elif mode.beside in ("one", "several") and beside.sum() > _SMALL:
            at = float(beside @ heights / beside.sum())
            money = narrow * float(beside @ np.maximum(heights - mode.low_mm, 0.0))
            cases = shape.by_height(mode, at)
            if cases and money > _SMALL:
                splits.append(self._modes(case, place, cases, money))
        return splits + self._by_strips(case, place)

    def _by_zone(self, case: Case, place: int, mode: Mode) -> list[Split]:
        """A zone so short that more strips lie abreast in it than have room, or a longer one."""
        relaxed, board = self._relaxed, self._relaxed.boards[place]
        values, shape, wood = case.solution.values, board.shape, relaxed.wood
        zone = float(values[board.column : board.opened].sum())
        lengths = relaxed.least_lengths(case.strips)
        number = values[board.strips(0) : board.strips(0) + len(board.stock.fits)]
        widths = np.array([wood.kinds[k].width_um + wood.rip_um for k in board.stock.fits]) / UM
        high = shape.zone(mode)[1]
        lost = high - shape.reach(mode)
        marks = {
            part * (lines + 1) * length + lost - _JUST_MM
            for length in {*lengths, shape.shortest(mode)}
            for lines in range(1, MOST_LINES + 1)
            for part in (1, 1 / 2, 1 / 3)
        }
        for mark in sorted(mark for mark in marks if zone + _SMALL < mark < high - _SMALL):
            shorter = replace(mode, long_mm=mark)
            over = max(
                float((relaxed.hits(board, shorter, lines, lengths) * widths) @ number)
                - relaxed.room(board, shorter, lines)
                for lines in range(1, MOST_LINES + 1)
            )
            cases = shape.by_zone(mode, mark) if over > _SMALL else []
            if len(cases) == 2:
                money = over * wood.shortest_um / UM * shape.rate
                return [self._modes(case, place, cases, money)]
        return []

    def _modes(self, case: Case, place: int, modes: list[Mode], money: float) -> Split:
        before, after = case.modes[:place], case.modes[place + 1 :]
        return Split(money, tuple(((*before, mode, *after), case.strips) for mode in modes))

    def _by_strips(self, case: Case, place: int) -> list[Split]:
        """Fewer or more strips of a kind, where the programme takes a part of one."""
        board, wood = self._relaxed.boards[place], self._relaxed.wood
        splits = []
        for column, kind in enumerate(board.stock.fits):
            number = float(case.solution.values[board.strips(column)])
            part = abs(number - round(number))
            if part < _SMALL:
                continue
            low, high = case.strips.get((place, kind), (0, self._strips[kind]))
            this, floor = wood.kinds[kind], int(number)
            area = wood.shortest_um / UM * this.width_um / UM
            money = part * area * board.shape.rate
            fewer = case.strips | {(place, kind): (low, floor)}
            more = case.strips | {(place, kind): (floor + 1, high)}
            splits.append(Split(money, ((case.modes, fewer), (case.modes, more))))
        return splits
