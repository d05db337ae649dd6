"""The next section to saw: the one whose segments are worth most against the wood it costs."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.fill import fill_lane
from server.craft.saw.layout.offers import SMALLEST_COST, Offer, best_offers
from server.craft.saw.layout.problem import KEEP_LENGTH_UM, Wood
from server.craft.saw.layout.sawn import Contents, Sawn
from server.craft.saw.layout.section import Lane, Run, lane_um, lay_section
from server.craft.saw.layout.spots import Candidate, measured
from server.craft.saw.layout.values import Fullness, Values, Widths

_BASE_LENGTHS = 28
_TRIED = 3
_MOST_LENGTHS = 72
_WORK_A_CHOICE = 1.5
_WORK_AN_OFFER = 3e-4


@dataclass(frozen=True, slots=True)
class Section:
    """A section laid: which board it changes, into what, what is left to cut, and its price."""

    board: int
    after: Sawn
    left: Mapping[int, int]
    value: float
    cost: float

    @property
    def merit(self) -> float:
        """Value for each unit of money that the wood costs."""
        return self.value / max(self.cost, SMALLEST_COST)


class Chooser:
    """Finds the next section for one wood; keeps what does not change between two searches.

    `spend` is told the work that it takes.
    """

    def __init__(self, wood: Wood, spend: Callable[[float], None] = lambda _: None) -> None:
        self.wood = wood
        self.spend = spend
        self.widths = Widths(wood)
        self.fullness = Fullness(wood)
        self._spots: dict[tuple[int, tuple[int, int, int, int], bool], tuple[Candidate, ...]] = {}
        self._base = self._base_lengths()

    def _base_lengths(self) -> list[int]:
        longest = max((s.length_um - 2 * s.trim_um for s in self.wood.stocks), default=0)
        shortest = max(1, self.wood.shortest_um)
        if longest <= shortest:
            return [shortest]
        return [int(x) for x in np.geomspace(shortest, longest, _BASE_LENGTHS)]

    def candidates(
        self, boards: Sequence[Sawn], only: Sequence[int]
    ) -> list[tuple[int, Candidate]]:
        """All spots on these boards; unopened boards that are alike count once."""
        found: list[tuple[int, Candidate]] = []
        seen: set[int] = set()
        for index in only:
            sawn = boards[index]
            opened = bool(sawn.strips)
            if not opened and sawn.stock.alike in seen:
                continue
            if not opened:
                seen.add(sawn.stock.alike)
            for rest in sawn.rests:
                key = (index, rest, opened)
                if key not in self._spots:
                    self._spots[key] = measured(self.wood, self.widths, sawn.stock, rest, opened)
                found += [(index, candidate) for candidate in self._spots[key]]
        return found

    def choose(
        self,
        boards: Sequence[Sawn],
        only: Sequence[int],
        left: Mapping[int, int],
        prices: Sequence[float],
    ) -> Section | None:
        """The best next section on the boards `only`; None when nothing more can be laid."""
        self.spend(_WORK_A_CHOICE)
        left_um = self.left_um(left)
        groups: dict[tuple[int, ...], list[tuple[int, Candidate]]] = {}
        for index, candidate in self.candidates(boards, only):
            groups.setdefault(candidate.fits, []).append((index, candidate))
        best: Section | None = None
        for fits, places in groups.items():
            kinds = tuple(kind for kind in fits if left_um[kind] > 0)
            if not kinds:
                continue
            values = self._values(kinds, places, prices, left_um)
            spots = [candidate for _, candidate in places]
            self.spend(values.work + _WORK_AN_OFFER * len(spots) * len(values.lengths_um))
            offers = best_offers(self.wood, self.widths.unit_um, values, spots, _TRIED)
            for offer in offers:
                section = self._lay(boards, left, values, offer, places[offer.place])
                if section and (best is None or section.merit > best.merit * (1 + 1e-9)):
                    best = section
        return best

    def left_um(self, left: Mapping[int, int]) -> list[int]:
        """What is still to be cut of each kind, in µm of pitches."""
        items = self.wood.items
        return [
            sum(items[item].pitch_um * left[item] for item in kind.items)
            for kind in self.wood.kinds
        ]

    def _values(
        self,
        kinds: tuple[int, ...],
        places: Sequence[tuple[int, Candidate]],
        prices: Sequence[float],
        left_um: Sequence[int],
    ) -> Values:
        wood = self.wood
        rooms = {candidate.room_um for _, candidate in places}
        longest = max(rooms)
        lengths = {x for x in self._base if x <= longest} | rooms
        lengths |= {c.room_um - KEEP_LENGTH_UM - wood.cross_um for _, c in places}
        lengths |= {KEEP_LENGTH_UM - int(c.numbers[1]) for _, c in places}
        for kind in kinds:
            whole = wood.kinds[kind].setup_um + left_um[kind]
            lengths |= {
                whole // lanes + (wood.kinds[kind].setup_um if lanes > 1 else 0)
                for lanes in (1, 2, 3, 4)
            }
        grid = _thinned(sorted(x for x in lengths if max(1, wood.shortest_um) <= x <= longest))
        units = max(int(candidate.numbers[-2]) for _, candidate in places)
        return Values(wood, self.widths, self.fullness, kinds, grid, units, prices, left_um)

    def _lay(
        self,
        boards: Sequence[Sawn],
        left: Mapping[int, int],
        values: Values,
        offer: Offer,
        place: tuple[int, Candidate],
    ) -> Section | None:
        index, candidate = place
        cap_um = int(values.lengths_um[offer.column])
        lanes: list[Lane] = []
        still = dict(left)
        for kind, count in sorted(values.pick(offer.units, offer.column).items()):
            for _ in range(count):
                run = self._run(kind, still, cap_um)
                if run:
                    lanes.append((run,))
        if not lanes:
            return None
        lanes = [self._lengthened(lane, values, still, cap_um) for lane in lanes]
        before = boards[index]
        after = lay_section(self.wood, before, candidate.spot, lanes)
        value = sum(
            values.prices[kind] * self.wood.items[item].pitch_um * pieces
            for lane in lanes
            for kind, contents in lane
            for item, pieces in contents
        )
        return Section(index, after, still, value, after.cost - before.cost)

    def _run(self, kind: int, still: dict[int, int], cap_um: int) -> Run | None:
        """The fullest strip of a kind, its segments taken from what is still to be cut."""
        contents = fill_lane(self.wood, kind, still, cap_um)
        for item, pieces in contents:
            still[item] -= pieces
        return (kind, contents) if contents else None

    def _lengthened(self, lane: Lane, values: Values, still: dict[int, int], cap_um: int) -> Lane:
        """The lane with the most valuable strips of narrower kinds laid behind its own."""
        wood = self.wood
        width_um = wood.kinds[lane[0][0]].width_um
        while True:
            room_um = cap_um - lane_um(wood, lane) - wood.cross_um
            if room_um < max(1, wood.shortest_um):
                return lane
            found = [
                (values.prices[kind] * self._pitches_um(contents), kind, contents)
                for kind in values.kinds
                if wood.kinds[kind].width_um <= width_um
                and (contents := fill_lane(wood, kind, still, room_um))
            ]
            if not found:
                return lane
            _, kind, contents = max(found)
            for item, pieces in contents:
                still[item] -= pieces
            lane = (*lane, (kind, contents))

    def _pitches_um(self, contents: Contents) -> int:
        return sum(self.wood.items[item].pitch_um * pieces for item, pieces in contents)


def _thinned(lengths: list[int]) -> NDArray[np.int64]:
    """At most `_MOST_LENGTHS` of these lengths, spread over all of them, the longest included."""
    step = max(1, -(-len(lengths) // _MOST_LENGTHS))
    return np.array(lengths[::-1][::step][::-1], np.int64)
