"""Choosing sections for several boards at once, their lengths free: a mixed integer programme.

A section is a pattern (lanes of each kind) and a length. What a pattern costs and gives is
linear in the length, so boards, patterns and lengths are chosen together. The segments in a lane
are counted as length; whole ones are laid afterwards.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.craft.saw.layout.linear import Effort, Mixed
from server.craft.saw.layout.problem import (
    KEEP_LENGTH_UM,
    KEEP_WIDTH_UM,
    NARROW_WORTH,
    UM,
    Wood,
)
from server.craft.saw.layout.sawn import Sawn, clear_rects

Pattern = tuple[int, ...]
"""Lanes of each kind, side by side."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A full-width clear length of an unopened board."""

    board: int
    x_um: int
    length_mm: float


@dataclass(frozen=True, slots=True)
class Choice:
    """A section to lay: where, which lanes, at most how long."""

    ground: Ground
    pattern: Pattern
    length_um: int


def grounds_of(boards: Sequence[Sawn], only: Sequence[int]) -> list[Ground]:
    """The full-width clear lengths of these boards; opened boards have none."""
    found = []
    for index in only:
        sawn = boards[index]
        if sawn.strips:
            continue
        for x0, x1, y0, y1 in clear_rects(sawn.stock, sawn.rests[0]):
            if y0 == 0 and y1 == sawn.stock.width_um:
                found.append(Ground(index, x0, (x1 - x0) / UM))
    return found


@dataclass(slots=True)
class _Section:
    ground: Ground
    pattern: Pattern
    used: int
    length: int


class SectionMix:
    """The programme for some grounds, patterns and what is left to cut (mm of pitches)."""

    def __init__(
        self,
        wood: Wood,
        boards: Sequence[Sawn],
        grounds: Sequence[Ground],
        patterns: Mapping[int, Sequence[Pattern]],
        left_mm: Sequence[float],
        prices: Sequence[float],
        margin: float,
    ) -> None:
        self._wood = wood
        self._mixed = Mixed()
        self._sections: list[_Section] = []
        self._gives: list[list[tuple[int, float]]] = [[] for _ in wood.kinds]
        self._margin = margin
        for ground in grounds:
            self._ground(boards[ground.board], ground, patterns.get(ground.board, ()), left_mm)
        for kind, left in enumerate(left_mm):
            if left > 0:
                missing = self._mixed.variable(prices[kind] * UM * 1.4, left)
                self._mixed.row(left, None, [*self._gives[kind], (missing, 1.0)])

    def choose(self, effort: Effort) -> tuple[list[Choice], float]:
        """The sections chosen, none when the solver found nothing, and the work it took."""
        outcome = self._mixed.solve(effort)
        values = outcome.values
        if values is None:
            return [], outcome.work
        choices = [
            Choice(s.ground, s.pattern, round(float(values[s.length]) * UM))
            for s in self._sections
            if values[s.used] > 0.5
        ]
        return choices, outcome.work

    def _ground(
        self, sawn: Sawn, ground: Ground, patterns: Sequence[Pattern], left_mm: Sequence[float]
    ) -> None:
        stock, mixed = sawn.stock, self._mixed
        per_mm = stock.rate * stock.width_um / UM
        cross = self._wood.cross_um / UM
        trim = stock.trim_um / UM
        opened = mixed.variable((2 * trim - cross) * per_mm, 1, whole=True)
        kept = mixed.variable(-trim * per_mm, 1, whole=True)
        rest = mixed.variable(0.0)
        lost = mixed.variable(per_mm)
        taken: list[tuple[int, float]] = []
        for pattern in patterns:
            if any(lanes and left_mm[kind] <= 0 for kind, lanes in enumerate(pattern)):
                continue
            if self._abreast_um(pattern) > stock.width_um + self._wood.rip_um:
                continue
            section = self._section(sawn, ground, pattern)
            taken += [(section.length, 1.0), (section.used, cross)]
            mixed.row(None, 0, [(section.used, 1.0), (opened, -1.0)])
        # The ground is taken, kept as a rest of 300 mm or more, or lost.
        whole = ground.length_mm + cross
        mixed.row(0, 0, [*taken, (rest, 1.0), (lost, 1.0), (opened, -whole)])
        mixed.row(None, 0, [(rest, 1.0), (kept, -whole)])
        mixed.row(0, None, [(rest, 1.0), (kept, -(KEEP_LENGTH_UM / UM - trim))])

    def _section(self, sawn: Sawn, ground: Ground, pattern: Pattern) -> _Section:
        wood, stock, mixed = self._wood, sawn.stock, self._mixed
        beside_um = stock.width_um - self._abreast_um(pattern)
        spare = beside_um >= KEEP_WIDTH_UM
        credit = NARROW_WORTH * stock.rate * beside_um / UM if spare else 0.0
        per_mm = stock.rate * stock.width_um / UM
        used = mixed.variable(per_mm * wood.cross_um / UM, 1, whole=True)
        length = mixed.variable(per_mm - credit, ground.length_mm)
        trim = stock.trim_um / UM
        shortest = max(wood.shortest_um / UM, (KEEP_LENGTH_UM / UM - trim) if spare else 0.0)
        mixed.row(None, 0, [(length, 1.0), (used, -ground.length_mm)])
        mixed.row(0, None, [(length, 1.0), (used, -min(shortest, ground.length_mm))])
        for kind, lanes in enumerate(pattern):
            if lanes:
                setup = wood.kinds[kind].setup_um / UM + self._slack(kind)
                self._gives[kind] += [(length, float(lanes)), (used, -lanes * setup)]
        section = _Section(ground, pattern, used, length)
        self._sections.append(section)
        return section

    def _abreast_um(self, pattern: Pattern) -> int:
        """Width of a pattern's lanes with a kerf behind each."""
        kinds, rip_um = self._wood.kinds, self._wood.rip_um
        return sum(lanes * (kinds[kind].width_um + rip_um) for kind, lanes in enumerate(pattern))

    def _slack(self, kind: int) -> float:
        """Length that whole segments leave unused in a lane, on average (mm)."""
        pitches = [self._wood.items[item].pitch_um / UM for item in self._wood.kinds[kind].items]
        return self._margin * (pitches[0] / 2 if len(pitches) == 1 else min(pitches) / 4)
