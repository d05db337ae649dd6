"""The next section to saw: the one whose segments are worth most against the wood it costs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.fill import fill_lane
from server.craft.saw.layout.problem import KEEP_LENGTH_UM, KEEP_WIDTH_UM, Wood
from server.craft.saw.layout.sawn import Sawn
from server.craft.saw.layout.section import Lane, lay_section
from server.craft.saw.layout.spots import Candidate, measured
from server.craft.saw.layout.values import Fullness, Values, Widths, value_table

Floats = NDArray[np.floating[Any]]
_SMALLEST_COST = 1e-9
_BASE_LENGTHS = 28
_TRIED = 3


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
        return self.value / max(self.cost, _SMALLEST_COST)


@dataclass(frozen=True, slots=True)
class _Offer:
    merit: float
    place: int
    column: int
    units: int


class Chooser:
    """Finds the next section for one wood; keeps what does not change between two searches."""

    def __init__(self, wood: Wood) -> None:
        self.wood = wood
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
                    self._spots[key] = measured(self.wood, sawn.stock, rest, opened)
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
            for offer in _offers(self.wood, self.widths, values, places)[:_TRIED]:
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
        rooms = {candidate.room for _, candidate in places}
        longest = max(rooms)
        lengths = {x for x in self._base if x <= longest} | rooms
        lengths |= {c.room - KEEP_LENGTH_UM - wood.cross_um for _, c in places}
        lengths |= {KEEP_LENGTH_UM - c.front for _, c in places}
        for kind in kinds:
            whole = wood.kinds[kind].setup_um + left_um[kind]
            lengths |= {
                whole // lanes + (wood.kinds[kind].setup_um if lanes > 1 else 0)
                for lanes in (1, 2, 3, 4)
            }
        grid = np.array(sorted(x for x in lengths if max(1, wood.shortest_um) <= x <= longest))
        units = max(self.widths.units(candidate.height) for _, candidate in places)
        full = self.fullness.at(grid)
        return value_table(self.widths, units, kinds, grid, full, prices, left_um)

    def _lay(
        self,
        boards: Sequence[Sawn],
        left: Mapping[int, int],
        values: Values,
        offer: _Offer,
        place: tuple[int, Candidate],
    ) -> Section | None:
        index, candidate = place
        cap_um = int(values.lengths_um[offer.column])
        lanes: list[Lane] = []
        still = dict(left)
        for kind, count in sorted(values.pick(offer.units, offer.column).items()):
            for _ in range(count):
                contents = fill_lane(self.wood, kind, still, cap_um)
                if contents:
                    lanes.append((kind, contents))
                    for item, pieces in contents:
                        still[item] -= pieces
        if not lanes:
            return None
        before = boards[index]
        after = lay_section(self.wood, before, candidate.spot, lanes)
        value = sum(
            values.prices[kind] * self.wood.items[item].pitch_um * pieces
            for kind, contents in lanes
            for item, pieces in contents
        )
        return Section(index, after, still, value, after.cost - before.cost)


def _offers(
    wood: Wood, widths: Widths, values: Values, places: Sequence[tuple[int, Candidate]]
) -> list[_Offer]:
    """The best length for each spot, by value against cost, best spot first."""
    lengths = values.lengths_um.astype(float)[None, :]
    column = {
        name: np.array([float(getattr(c, name)) for _, c in places])[:, None]
        for name in ("room", "height", "front", "reach", "rest_length", "headroom", "below")
    } | {
        name: np.array([getattr(c, name) for _, c in places])[:, None]
        for name in ("before", "beyond", "above")
    }
    rip_first = np.array([c.spot.rip_first for _, c in places])[:, None]
    behind = column["reach"] - lengths - wood.cross_um
    kept = (behind >= KEEP_LENGTH_UM) & ~rip_first
    end = np.where(kept, column["front"] + lengths, column["rest_length"])
    longer = kept & (end < KEEP_LENGTH_UM)
    longer &= behind - (KEEP_LENGTH_UM - end) >= KEEP_LENGTH_UM
    stretched = np.where(longer, float(KEEP_LENGTH_UM), end)
    fixed = column["before"] - np.where(kept, behind * column["beyond"], 0.0)
    fits = lengths <= column["room"]
    caps = np.array([min(widths.units(c.height), len(values.best) - 1) for _, c in places])
    plain = _merit(values.best[caps], fixed, fits)
    extra = (stretched - end) * column["beyond"]
    high = np.array([_capped(widths, c, len(values.best) - 1) for _, c in places])
    picked = _thrifty(values, widths.unit_um, [c.above for _, c in places], high)
    value = np.take_along_axis(values.best, picked, 0)
    used = picked * float(widths.unit_um)
    keepable = (stretched >= KEEP_LENGTH_UM) & (high >= 0)[:, None]
    rest_um = np.maximum(column["headroom"] - used, 0)
    saved = column["above"] * stretched * rest_um - extra
    below = np.where(column["below"] >= KEEP_WIDTH_UM, column["below"], 0) * column["above"] * end
    block = np.where(
        rip_first & (behind >= KEEP_LENGTH_UM) & (used - wood.rip_um >= KEEP_WIDTH_UM),
        column["above"] * behind * (used - wood.rip_um),
        0.0,
    )
    thrifty = _merit(
        value, fixed - saved - np.where(end >= KEEP_LENGTH_UM, below, 0) - block, fits & keepable
    )
    return _ranked(plain, thrifty, caps, picked)


def _capped(widths: Widths, candidate: Candidate, most: int) -> int:
    room = candidate.headroom - KEEP_WIDTH_UM
    if room <= 0:
        return -1
    return min(widths.units(candidate.height), room // widths.unit_um, most)


def _thrifty(
    values: Values, unit_um: int, above: Sequence[float], high: NDArray[np.int64]
) -> NDArray[np.int64]:
    """For each spot and length: the width whose value less the rest it takes is highest."""
    picked = np.zeros((len(above), len(values.lengths_um)), np.int64)
    units = np.arange(len(values.best))[:, None]
    tables: dict[float, NDArray[np.int64]] = {}
    for place, (price, cap) in enumerate(zip(above, high, strict=True)):
        if cap < 0:
            continue
        if price not in tables:
            net = values.best - price * unit_um * values.lengths_um[None, :] * units
            top = np.maximum.accumulate(net, axis=0)
            tables[price] = np.maximum.accumulate(np.where(net >= top, units, 0), axis=0)
        picked[place] = tables[price][cap]
    return picked


def _merit(value: Floats, cost: Floats, fits: NDArray[np.bool_]) -> Floats:
    return np.where(fits & (value > 0), value / np.maximum(cost, _SMALLEST_COST), 0.0)


def _ranked(
    plain: Floats, thrifty: Floats, caps: NDArray[np.int64], picked: NDArray[np.int64]
) -> list[_Offer]:
    offers = []
    for merit, units in ((plain, np.broadcast_to(caps[:, None], plain.shape)), (thrifty, picked)):
        for place, column in enumerate(merit.argmax(axis=1)):
            if merit[place, column] > 0:
                offers.append(
                    _Offer(
                        float(merit[place, column]), place, int(column), int(units[place, column])
                    )
                )
    return sorted(offers, key=lambda o: (-o.merit, o.place, o.column, o.units))
