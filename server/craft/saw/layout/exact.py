"""A sharper bound for a wood with few kinds of lanes: whole strips and real offcuts.

The same slices as in `slices.py`, chosen by a mixed integer programme that also knows what a
mixture of slices forgets: a strip is at least so long and there are whole numbers of them, a
board's ends are trimmed or returned whole, and an offcut narrower than its board is 300 mm long
and equally high all along. Every layout satisfies every row, so the least cost is a bound.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from server.craft.saw.layout.linear import Effort, Mixed
from server.craft.saw.layout.problem import (
    KEEP_LENGTH_UM,
    KEEP_WIDTH_UM,
    NARROW_WORTH,
    UM,
    Stock,
    Wood,
)

_MOST_PATTERNS = 700
_MOST_BOARDS = 8
_EASY_PATTERNS = 40
"""With more patterns than this, fewer branching nodes: each takes longer."""
_LEVEL_MM = 12.0
_CLOSE_MM = 0.5
_KEEP_MM = KEEP_LENGTH_UM / UM
_KEEP_WIDE_MM = KEEP_WIDTH_UM / UM
_SAFE = 1 - 1e-6

Pattern = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Slices:
    """A column of one pattern on one board: mm of slices beside which an offcut lies, or none."""

    pattern: Pattern
    column: int
    rest_mm: float


def sharper_bound(wood: Wood, lacking: int, effort: Effort) -> tuple[float, float]:
    """A bound on the cost of any layout, and the work that it took.

    It is not tried where segments are lacking or where there are too many patterns to list.
    """
    stocks = list(wood.stocks)
    if lacking or not stocks or len(stocks) > _MOST_BOARDS:
        return 0.0, 0.0
    programme = _Programme(wood)
    count = 0
    for stock in stocks:
        listed = _patterns(wood, stock)
        count += len(listed)
        if count > _MOST_PATTERNS:
            return 0.0, 0.0
        programme.board(stock, listed)
    programme.demands()
    nodes = max(10, effort.nodes * _EASY_PATTERNS // max(count, _EASY_PATTERNS))
    outcome = programme.mixed.solve(replace(effort, nodes=nodes))
    bound = outcome.bound if outcome.bound < float("inf") else 0.0
    return max(0.0, bound) * _SAFE, outcome.work


def _patterns(wood: Wood, stock: Stock) -> list[Pattern]:
    """Every choice of lanes that fits the board's width, or one more than are allowed."""
    choices = _choices(wood, stock, 0, stock.width_um + wood.rip_um)
    return list(islice(choices, _MOST_PATTERNS + 1))


def _choices(wood: Wood, stock: Stock, kind: int, room_um: int) -> Iterator[Pattern]:
    if kind == len(wood.kinds):
        yield ()
        return
    this = wood.kinds[kind]
    pieces = sum(wood.items[item].count for item in this.items)
    lane = this.width_um + wood.rip_um
    most = min(room_um // lane, pieces) if kind in stock.fits else 0
    for lanes in range(most + 1):
        for others in _choices(wood, stock, kind + 1, room_um - lanes * lane):
            yield (lanes, *others)


class _Programme:
    """Rows and columns of all boards and kinds."""

    def __init__(self, wood: Wood) -> None:
        self.mixed = Mixed()
        self._wood = wood
        self._made: list[list[tuple[int, float]]] = [[] for _ in wood.kinds]

    def demands(self) -> None:
        """Every kind is cut: lengths less what each strip needs before its first segment."""
        wood = self._wood
        for kind, this in enumerate(wood.kinds):
            need = sum(wood.items[i].count * (wood.items[i].pitch_um - 1) for i in this.items)
            self.mixed.row(need / UM, None, self._made[kind])

    def board(self, stock: Stock, patterns: Sequence[Pattern]) -> None:
        """One board that may be opened."""
        wood, mixed = self._wood, self.mixed
        length, trim, cross = stock.length_um / UM, stock.trim_um / UM, wood.cross_um / UM
        behind = min(trim, cross)
        per_mm = stock.rate * stock.width_um / UM
        usable = length - 2 * trim + behind
        opened = mixed.variable(0.0, 1, whole=True)
        near = mixed.variable(per_mm * cross, 1, whole=True)
        far = mixed.variable(0.0, 1, whole=True)
        narrow = mixed.variable(0.0, 1, whole=True)
        slices = [part for pattern in patterns for part in self._slices(stock, pattern)]
        bare = [(s.column, 1.0) for s in slices if not any(s.pattern)]
        busy = [(s.column, 1.0) for s in slices if any(s.pattern)]
        zone = bare + busy
        # Full offcuts at the ends: 300 mm each; without one the zone is the whole board.
        ends = [(near, _KEEP_MM + cross), (far, _KEEP_MM), (opened, -length)]
        mixed.row(None, 0, zone + ends)
        mixed.row(0, None, [*zone, (opened, -length), (near, length), (far, length)])
        for part in (near, far, narrow):
            mixed.row(None, 0, [(part, 1.0), (opened, -1.0)])
        mixed.row(None, 0, [*busy, (opened, -usable)])
        trims = [(opened, behind - 2 * trim), (near, trim), (far, trim - behind)]
        mixed.row(0, None, bare + trims)
        # The kerf in front of a full offcut lies beside no narrow one.
        mixed.row(0, None, [(s.column, 1.0) for s in slices if not s.rest_mm] + [(far, -behind)])
        self._credit(stock, slices, zone, narrow)
        self._strips(stock, slices, usable, behind)

    def _slices(self, stock: Stock, pattern: Pattern) -> list[_Slices]:
        wood = self._wood
        used = sum(n * (wood.kinds[k].width_um + wood.rip_um) for k, n in enumerate(pattern))
        rest_mm = (stock.width_um - used) / UM
        cost = stock.rate * stock.width_um / UM
        parts = [_Slices(pattern, self.mixed.variable(cost), 0.0)]
        if rest_mm >= _KEEP_WIDE_MM:
            parts.append(_Slices(pattern, self.mixed.variable(cost), rest_mm))
        return parts

    def _credit(
        self,
        stock: Stock,
        slices: Sequence[_Slices],
        zone: list[tuple[int, float]],
        narrow: int,
    ) -> None:
        """Worth of narrow offcuts, each 300 mm long or more and equally high all along.

        In a zone shorter than 600 mm all of them cross its middle. A single one is as high as
        the lowest rest beside it. Several have heights that add up to h there, at least 80 mm and
        a kerf less than the board; nowhere do they exceed h, and their area is at least 300·h.
        """
        mixed, per_mm2 = self.mixed, NARROW_WORTH * stock.rate
        length, width = stock.length_um / UM, stock.width_um / UM
        beside = [s for s in slices if s.rest_mm]
        credited = [(s.column, 1.0) for s in beside]
        most = per_mm2 * width * length
        worth = mixed.variable(-1.0)
        long = mixed.variable(0.0, 1, whole=True)
        mixed.row(None, 2 * _KEEP_MM, [*zone, (long, -length)])
        mixed.row(0, None, [*zone, (long, -2 * _KEEP_MM)])
        mixed.row(None, 0, [*credited, (narrow, -length)])
        mixed.row(0, None, [*credited, (narrow, -_KEEP_MM)])
        mixed.row(None, 0, [(worth, 1.0), *((s.column, -per_mm2 * s.rest_mm) for s in beside)])
        chosen = []
        for low, high in _levels(width, beside):
            one = mixed.variable(0.0, 1, whole=True)
            chosen.append((one, 1.0))
            lower = [(s.column, 1.0) for s in beside if s.rest_mm <= low + 1e-9]
            mixed.row(None, length, [*lower, (one, length)])
            area = [(column, -per_mm2 * high) for column, _ in credited]
            mixed.row(None, most, [(worth, 1.0), *area, (one, most)])
            rip = self._wood.rip_um / UM
            if high < 2 * _KEEP_WIDE_MM or low + rip > width:
                continue
            several = mixed.variable(0.0, 1, whole=True)
            chosen.append((several, 1.0))
            heights = [(s.column, -_height(s.rest_mm, low, high, rip)) for s in beside]
            capped = [(column, per_mm2 * height) for column, height in heights]
            mixed.row(None, most, [(worth, 1.0), *capped, (several, most)])
            mixed.row(None, 0, [*heights, (several, _KEEP_MM * max(low, 2 * _KEEP_WIDE_MM))])
        mixed.row(0, None, [*chosen, (long, 1.0), (narrow, -1.0)])

    def _strips(
        self, stock: Stock, slices: Sequence[_Slices], usable: float, behind: float
    ) -> None:
        """Whole numbers of strips of each kind, each long enough, and as many as lie abreast."""
        wood, mixed = self._wood, self.mixed
        for kind in stock.fits:
            this = wood.kinds[kind]
            lanes = [(s.column, float(s.pattern[kind])) for s in slices if s.pattern[kind]]
            if not lanes:
                continue
            pieces = sum(wood.items[item].count for item in this.items)
            strips = mixed.variable(0.0, pieces, whole=True)
            shortest = wood.shortest_um / UM + behind
            mixed.row(0, None, [*lanes, (strips, -shortest)])
            mixed.row(None, 0, [*lanes, (strips, -usable)])
            self._made[kind] += [*lanes, (strips, -((this.setup_um - 1) / UM + behind))]
            abreast = [(strips, -1.0)]
            for count in range(1, int(max(n for _, n in lanes)) + 1):
                some = mixed.variable(0.0, 1, whole=True)
                mixed.row(None, 0, [(c, 1.0) for c, n in lanes if n >= count] + [(some, -usable)])
                abreast.append((some, 1.0))
            mixed.row(None, 0, abreast)


def _levels(width: float, beside: Sequence[_Slices]) -> list[tuple[float, float]]:
    """Ranges for the height of narrow offcuts: none has a slice's own rest inside it."""
    ends = sorted({s.rest_mm for s in beside} | {width})
    levels, low = [], _KEEP_WIDE_MM
    for end in ends:
        if low + _CLOSE_MM < end:
            levels.append((low, low + _CLOSE_MM))
            low += _CLOSE_MM
        steps = max(1, round((end - low) / _LEVEL_MM))
        for step in range(steps):
            high = low + (end - low) / (steps - step)
            if high > low:
                levels.append((low, high))
            low = high
    return levels


def _height(rest_mm: float, low: float, high: float, rip_mm: float) -> float:
    """How high several offcuts of together `low` to `high` can be beside a slice.

    All of them need a rip kerf between them; where one is missing, 40 mm or more are missing.
    """
    if rest_mm >= low + rip_mm:
        return min(rest_mm - rip_mm, high)
    return min(rest_mm, high - _KEEP_WIDE_MM)
