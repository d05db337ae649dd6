"""A wood of few strips: many ways to place them one by one, the promising ones kept side by side.

A board is opened by cross cutting a zone off it, as long as some strips end to end, and the strips
are placed into what is left of the zone, in any order.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, islice, product

from server.craft.saw.layout.construct import Plan, Stop, empty_plan
from server.craft.saw.layout.counts import most_strips
from server.craft.saw.layout.fill import fill_lane
from server.craft.saw.layout.packed import MOST_PACKED, packed
from server.craft.saw.layout.problem import KEEP_LENGTH_UM, NARROW_WORTH, Stock, Wood
from server.craft.saw.layout.sawn import UM2_PER_MM2, Sawn, clear_rects, useful, whole
from server.craft.saw.layout.section import Run, Spot, lay_section

MOST_STRIPS = 16
_MOST_IN_LINE = 4
_MOST_FREELY = 6
_MOST_AT_ONCE = 6
_MOST_DIVISIONS = 16
_MOST_BEAMS = 12
_MOST_LISTED = 2000
_MOST_ALIKE = 4
_WIDTHS = (3, 12, 40)
_WORK_A_STRIP = 0.08


@dataclass(frozen=True, slots=True)
class _State:
    boards: tuple[Sawn, ...]
    left: tuple[Run, ...]
    cost: float


def few_strips(wood: Wood) -> bool:
    """Whether the wood needs so few strips that this is worth trying."""
    return sum(most_strips(wood, kind) for kind in range(len(wood.kinds))) <= MOST_STRIPS


class FewStrips:
    """Tries the divisions of the kinds into strips in turn; `work` counts what it did."""

    def __init__(self, wood: Wood) -> None:
        self._wood = wood
        self._rate = min((stock.rate for stock in wood.stocks), default=0.0)
        self.work = 0.0
        self.divisions = _divisions(wood, 2)
        fine = [division for division in _divisions(wood, _MOST_ALIKE) if _handful(division)]
        beams = [division for division in self.divisions if not _handful(division)]
        packed_first = [(d, 0) for d in fine[:_MOST_DIVISIONS] if len(d) <= _MOST_AT_ONCE]
        packed_last = [(d, 0) for d in fine[:_MOST_DIVISIONS] if len(d) > _MOST_AT_ONCE]
        beamed = [(d, width) for width in _WIDTHS for d in beams[:_MOST_BEAMS]]
        self._trials = packed_first + beamed + packed_last
        self._trials.reverse()

    @property
    def done(self) -> bool:
        """Whether all has been tried."""
        return not self._trials

    def turn(self, stop: Stop) -> Plan | None:
        """Try the next division: those of a handful of strips in all ways, the others in many.

        The others first with few states side by side, then with more.
        """
        division, width = self._trials.pop()
        if not width:
            return self._packed(division)
        return self.best(division, width, stop)

    def _packed(self, division: Sequence[Run]) -> Plan | None:
        wood = self._wood
        boards, work = packed(wood, division, range(len(wood.stocks)))
        self.work += work
        if boards is None:
            return None
        left = dict.fromkeys(range(len(wood.items)), 0)
        return Plan(tuple(boards[index] for index in range(len(wood.stocks))), left)

    def best(self, division: Sequence[Run], width: int, stop: Stop) -> Plan | None:
        """The cheapest plan found with these strips, `width` states being kept at each step."""
        start = empty_plan(self._wood)
        states = [_State(start.boards, tuple(division), 0.0)]
        for _ in division:
            following: dict[object, _State] = {}
            for state in states:
                for after in self._after(state):
                    following.setdefault((_rests(after), after.left), after)
                if stop():
                    return None
            states = sorted(following.values(), key=self._promise)[:width]
        if not states:
            return None
        return Plan(states[0].boards, dict.fromkeys(start.left, 0))

    def _promise(self, state: _State) -> float:
        """What a state costs when its other strips take just their own wood."""
        wood = self._wood
        area = sum(
            wood.strip_um(kind, contents) * (wood.kinds[kind].width_um + wood.rip_um)
            for kind, contents in state.left
        )
        return state.cost + NARROW_WORTH * self._rate * area / UM2_PER_MM2

    def _after(self, state: _State) -> Iterator[_State]:
        tried: set[Run] = set()
        for place, part in enumerate(state.left):
            if part in tried:
                continue
            tried.add(part)
            others = (*state.left[:place], *state.left[place + 1 :])
            for index, sawn in self._boards(state):
                for laid in self._laid(sawn, part):
                    boards = (*state.boards[:index], laid, *state.boards[index + 1 :])
                    cost = state.cost - state.boards[index].cost + laid.cost
                    yield _State(boards, others, cost)

    def _boards(self, state: _State) -> Iterator[tuple[int, Sawn]]:
        """The boards that are opened, and the others with every zone cut off them."""
        seen: set[int] = set()
        for index, sawn in enumerate(state.boards):
            if sawn.strips:
                yield index, sawn
            elif sawn.stock.alike not in seen:
                seen.add(sawn.stock.alike)
                yield from ((index, zone) for zone in self._zones(sawn.stock, state.left))

    def _zones(self, stock: Stock, left: Sequence[Run]) -> Iterator[Sawn]:
        wood, before = self._wood, whole(stock)
        lengths = [wood.strip_um(kind, contents) for kind, contents in left]
        ends = {stock.length_um}
        in_line = _MOST_IN_LINE if len(lengths) <= _MOST_FREELY else 2
        for count in range(1, min(in_line, len(lengths)) + 1):
            for chosen in combinations(lengths, count):
                end = stock.trim_um + sum(chosen) + (count - 1) * wood.cross_um
                ends |= {end, max(end, KEEP_LENGTH_UM)}
        for end in sorted(ends):
            beyond = (end + wood.cross_um, stock.length_um, 0, stock.width_um)
            zone = (0, end, 0, stock.width_um)
            if end == stock.length_um:
                yield before
            elif useful(wood, stock, beyond):
                yield Sawn(stock, (), (zone, beyond), before)

    def _laid(self, sawn: Sawn, part: Run) -> Iterator[Sawn]:
        wood, (kind, contents) = self._wood, part
        if kind not in sawn.stock.fits:
            return
        length_um, width_um = wood.strip_um(kind, contents), wood.kinds[kind].width_um
        for rest in sawn.rests if sawn.strips else sawn.rests[:1]:
            for clear in clear_rects(sawn.stock, rest):
                if clear[1] - clear[0] < length_um or clear[3] - clear[2] < width_um:
                    continue
                for rip_first in (False, True):
                    self.work += _WORK_A_STRIP
                    spot = Spot(rest, clear, rip_first=rip_first)
                    yield lay_section(wood, sawn, spot, [(part,)])


def _rests(state: _State) -> tuple[object, ...]:
    return tuple((sawn.stock.alike, sawn.rests) for sawn in state.boards if sawn.strips)


def _handful(division: Sequence[Run]) -> bool:
    return len(division) <= MOST_PACKED


def _divisions(wood: Wood, alike: int) -> list[tuple[Run, ...]]:
    """Ways to divide the segments into strips, those with fewest strips first."""
    ways = [_ways(wood, kind, alike) for kind in range(len(wood.kinds))]
    every = islice(product(*ways), _MOST_LISTED)
    divisions = [tuple(part for parts in division for part in parts) for division in every]
    return sorted(divisions, key=len)


def _ways(wood: Wood, kind: int, alike: int) -> list[tuple[Run, ...]]:
    """One strip, strips as short as may be, or two to `alike` about equal ones."""
    this = wood.kinds[kind]
    counts = {item: wood.items[item].count for item in this.items}
    found: list[tuple[Run, ...]] = [((kind, tuple(counts.items())),)]
    pitch = max(wood.items[item].pitch_um for item in this.items)
    strips = most_strips(wood, kind)
    if strips > 1:
        found.append(cut_up(wood, kind, counts, wood.shortest_um))
    for number in range(2, min(strips, alike) + 1):
        equal = max(wood.shortest_um, this.setup_um + this.total_um // number)
        spare = (1,) if alike == 2 else (1, pitch)
        found += [cut_up(wood, kind, counts, equal + more) for more in spare]
    longest = max((s.length_um - 2 * s.trim_um for s in wood.stocks), default=0)
    fits = [
        parts
        for parts in found
        if all(wood.strip_um(k, contents) <= longest for k, contents in parts)
    ]
    return list(dict.fromkeys(fits)) or [cut_up(wood, kind, counts, longest)]


def cut_up(wood: Wood, kind: int, counts: dict[int, int], cap_um: int) -> tuple[Run, ...]:
    """Strips no longer than this, but for a segment that is longer by itself."""
    left, parts = dict(counts), []
    while any(left.values()):
        contents = fill_lane(wood, kind, left, cap_um)
        if not contents:
            contents = ((next(item for item, count in left.items() if count), 1),)
        for item, count in contents:
            left[item] -= count
        parts.append((kind, contents))
    return tuple(parts)
