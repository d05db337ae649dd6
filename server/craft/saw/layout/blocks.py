"""Strips joined into blocks, end to end or side by side: every size that a set of them can have.

A set of strips is a bit mask. Whatever straight cuts can free is such a block, joined of two
smaller ones; of two blocks of one set the one that is longer and wider is left out.
"""

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.problem import Rect, Wood
from server.craft.saw.layout.sawn import Placed
from server.craft.saw.layout.section import Run

Ints = NDArray[np.integer[Any]]


@cache
def parts_of(strips: int) -> Ints:
    """Every set in this set, the empty one and itself included."""
    found = [strips]
    while found[-1]:
        found.append((found[-1] - 1) & strips)
    return np.array(found)


class Blocks:
    """Lengths and widths (µm) of the blocks of every set of `parts`, none larger than the limits.

    `joined` counts the pairs of sets that were joined.
    """

    def __init__(self, wood: Wood, parts: Sequence[Run], longest_um: int, widest_um: int) -> None:
        self._wood = wood
        self._parts = parts
        self._limits = longest_um, widest_um
        self.joined = 0
        size = 1 << len(parts)
        none = np.zeros(0, np.int64)
        self.lengths: list[Ints] = [none] * size
        self.widths: list[Ints] = [none] * size
        self._halves: list[list[tuple[int, int, int, int, bool]]] = [[] for _ in range(size)]
        for strips in range(1, size):
            if strips & (strips - 1):
                self._join(strips)
            else:
                kind, contents = parts[strips.bit_length() - 1]
                self.lengths[strips] = np.array([wood.strip_um(kind, contents)])
                self.widths[strips] = np.array([wood.kinds[kind].width_um])

    def _join(self, strips: int) -> None:
        low = strips & -strips
        lengths, widths, halves = [], [], []
        for others in parts_of(strips ^ low)[1:].tolist():
            one, other = low | others, strips ^ low ^ others
            if len(self.lengths[one]) and len(self.lengths[other]):
                self.joined += 1
                lines, beams = self._both(one, other)
                lengths += lines
                widths += beams
                halves.append((one, other))
        if not halves:
            return
        every, wide = np.concatenate(lengths), np.concatenate(widths)
        fits = np.flatnonzero((every <= self._limits[0]) & (wide <= self._limits[1]))
        kept = fits[_smallest(every[fits], wide[fits])]
        self.lengths[strips], self.widths[strips] = every[kept], wide[kept]
        ends = np.cumsum([len(line) for line in lengths])
        for place in kept.tolist():
            row = int(np.searchsorted(ends, place, "right"))
            one, other = halves[row // 2]
            inside = place - (int(ends[row - 1]) if row else 0)
            first, second = divmod(inside, len(self.lengths[other]))
            self._halves[strips].append((one, first, other, second, row % 2 == 1))

    def _both(self, one: int, other: int) -> tuple[list[Ints], list[Ints]]:
        """Lengths and widths of two sets end to end, and side by side."""
        long_a, long_b = self.lengths[one][:, None], self.lengths[other][None, :]
        wide_a, wide_b = self.widths[one][:, None], self.widths[other][None, :]
        in_line, beside = long_a + long_b + self._wood.cross_um, np.maximum(long_a, long_b)
        wider, abreast = np.maximum(wide_a, wide_b), wide_a + wide_b + self._wood.rip_um
        return [in_line.ravel(), beside.ravel()], [wider.ravel(), abreast.ravel()]

    def laid(self, strips: int, shape: int, x_um: int, y_um: int) -> Iterator[Placed | Rect]:
        """The strips of a block and the rests inside it, its lower near corner being here."""
        if not self._halves[strips]:
            kind, contents = self._parts[strips.bit_length() - 1]
            length_um, width_um = int(self.lengths[strips][0]), int(self.widths[strips][0])
            yield Placed(x_um, y_um, length_um, width_um, kind, contents)
            return
        one, first, other, second, abreast = self._halves[strips][shape]
        long_a, wide_a = int(self.lengths[one][first]), int(self.widths[one][first])
        long_b, wide_b = int(self.lengths[other][second]), int(self.widths[other][second])
        cross, rip = self._wood.cross_um, self._wood.rip_um
        yield from self.laid(one, first, x_um, y_um)
        if abreast:
            up = y_um + wide_a + rip
            yield from self.laid(other, second, x_um, up)
            end = x_um + max(long_a, long_b)
            yield (x_um + long_a + cross, end, y_um, y_um + wide_a)
            yield (x_um + long_b + cross, end, up, up + wide_b)
        else:
            on = x_um + long_a + cross
            yield from self.laid(other, second, on, y_um)
            top = y_um + max(wide_a, wide_b)
            yield (x_um, x_um + long_a, y_um + wide_a + rip, top)
            yield (on, on + long_b, y_um + wide_b + rip, top)


def _smallest(lengths: Ints, widths: Ints) -> Ints:
    """Places of the blocks that no other one is both shorter and narrower than."""
    order = np.lexsort((widths, lengths))
    least = np.minimum.accumulate(widths[order])
    new = np.ones(len(order), bool)
    new[1:] = least[1:] < least[:-1]
    return order[new]
