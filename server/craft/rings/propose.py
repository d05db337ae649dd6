"""A ring list proposed for a profile: thicknesses, segment counts and phases from what is at hand.

Several ways of slicing are tried and the one that takes least wood is proposed, among those
whose boards are wide enough. What the user keeps stays where it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import accumulate, pairwise

from server.craft.errors import CraftError
from server.craft.form.curves import Curve
from server.craft.form.slabs import ring_radii
from server.craft.rings.segments import flat_ring
from server.craft.rings.slices import alike_slices
from server.craft.saw.strips import strip_length_mm

THINNEST_MM = 3.0
FEWEST, MOST = 6, 96
MORE_TRIED = 3
"""How many rings more than the fewest are tried in each stretch."""

_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Wish:
    """What the proposal goes by, in mm.

    `thickest_mm` is the thickest finished ring that the boards give, `widest_mm` the widest board
    (None where it does not matter). `edge_mm` is the wanted outer edge of a segment; `segments`
    sets the count outright. `spent_mm` is planed and flattened off each ring's thickness, which
    lies on marks of `mark_mm` where it can (None: where it falls).
    """

    thickest_mm: float
    widest_mm: float | None = None
    edge_mm: float = 38.0
    segments: int | None = None
    spent_mm: float = 0.0
    kerf_mm: float = 2.4
    outside_mm: float = 3.0
    inside_mm: float = 3.0
    mark_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """A ring that stays: between these heights over the part's lowest point."""

    bottom_mm: float
    top_mm: float


@dataclass(frozen=True, slots=True)
class Proposed:
    """One ring of the proposal, bottom to top; `kept` is its place among the kept ones."""

    thickness_mm: float
    segments: int
    phase: float
    kept: int | None = None


@dataclass(frozen=True, slots=True)
class Form:
    """The profile that is sliced."""

    outside: Curve
    inside: Curve | None
    floor_mm: float | None
    bottom_mm: float = field(init=False)
    top_mm: float = field(init=False)

    def __post_init__(self) -> None:
        _, z0, _, z1 = self.outside.bounds
        object.__setattr__(self, "bottom_mm", z0)
        object.__setattr__(self, "top_mm", z1)


def propose_rings(form: Form, wish: Wish, kept: Sequence[Kept] = ()) -> list[Proposed]:
    """Rings that fill the profile. Raises CraftError with the reason where none can."""
    if wish.thickest_mm < THINNEST_MM:
        raise CraftError(f"Rings are {THINNEST_MM:g} mm thick or more.")
    count = wish.segments or _count(form, wish)
    planes = _planes(form, wish, sorted(kept, key=lambda k: k.bottom_mm), count)
    proposed = []
    for number, (low, high, keep) in enumerate(planes):
        proposed.append(Proposed(high - low, count, 0.5 * (number % 2), keep))
    return proposed


def _count(form: Form, wish: Wish) -> int:
    """An even number of segments whose edge is near the wish where the piece is widest."""
    radius = form.outside.bounds[2] + wish.outside_mm
    wanted = math.pi / math.atan(wish.edge_mm / 2 / radius)
    return min(MOST, max(FEWEST, 2 * round(wanted / 2)))


def _planes(
    form: Form, wish: Wish, kept: Sequence[Kept], count: int
) -> list[tuple[float, float, int | None]]:
    slabs: list[tuple[float, float, int | None]] = []
    at = form.bottom_mm
    for number, keep in enumerate(kept):
        low = max(at, keep.bottom_mm)
        slabs += [(a, b, None) for a, b in _fill(form, wish, at, low, count)]
        high = low + keep.top_mm - keep.bottom_mm
        if high > form.top_mm + _SAME_MM:
            raise CraftError("The rings that are kept are higher than the form.")
        slabs.append((low, high, number))
        at = high
    slabs += [(a, b, None) for a, b in _fill(form, wish, at, form.top_mm, count)]
    return slabs


def _fill(form: Form, wish: Wish, low: float, high: float, count: int) -> list[tuple[float, float]]:
    """Slice one stretch the way that takes least wood."""
    height = high - low
    if height <= _SAME_MM:
        return []
    best: tuple[float, list[tuple[float, float]]] | None = None
    for slabs in _ways(wish, low, height):
        wood = _wood(form, wish, slabs, count)
        if wood is not None and (best is None or wood < best[0] - 1e-9):
            best = (wood, slabs)
    if best is None:
        raise CraftError(
            "No board at hand is wide enough for this form, however thin its rings are cut."
        )
    return best[1]


def _ways(wish: Wish, low: float, height: float) -> Iterator[list[tuple[float, float]]]:
    """Slices all alike, a few more than needed, thinner ones for narrow boards; full ones and a
    rest."""
    fewest = max(1, math.ceil(height / wish.thickest_mm - 1e-9))
    most = max(fewest, math.floor(height / THINNEST_MM))
    tried = [n for n in range(fewest, fewest + MORE_TRIED + 1) if n <= most]
    tried += [n for n in (2 * fewest, 3 * fewest, 4 * fewest) if tried[-1] < n <= most]
    for number in tried:
        thick = alike_slices(height, number, wish.mark_mm)
        if thick[0] > wish.thickest_mm + _SAME_MM:
            thick = alike_slices(height, number)
        yield list(pairwise([*accumulate(thick[:-1], initial=low), low + height]))
    rest = height - (fewest - 1) * wish.thickest_mm
    if fewest > 1 and rest >= THINNEST_MM:
        cuts = [low + k * wish.thickest_mm for k in range(fewest)] + [low + height]
        yield list(pairwise(cuts))


def _wood(form: Form, wish: Wish, slabs: Sequence[tuple[float, float]], count: int) -> float | None:
    """Volume of the strips in mm³, kerfs counted; None where a board would be too narrow."""
    planes = [slabs[0][0], *(high for _, high in slabs)]
    radii = ring_radii(form.outside, form.inside, form.floor_mm, planes)
    total = 0.0
    for (low, high), slab in zip(slabs, radii, strict=True):
        if slab.outside_mm is None:
            return None
        inner = max(0.0, slab.inside_mm - wish.inside_mm) if slab.inside_mm > 0 else 0.0
        ring = flat_ring(count, slab.outside_mm + wish.outside_mm, inner)
        if wish.widest_mm is not None and ring.board_width_mm > wish.widest_mm + _SAME_MM:
            return None
        cut = ring.segments[0]
        length = strip_length_mm(
            count, cut.outer_edge_mm, cut.width_mm, cut.mitre_deg, wish.kerf_mm, flip=True
        )
        total += length * cut.width_mm * (high - low + wish.spent_mm)
    return total
