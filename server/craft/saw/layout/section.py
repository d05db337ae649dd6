"""Laying one section: lanes side by side in a clear rectangle of a rest, and the rests it leaves.

The work is done with the section at the near lower corner; a section at the far end or at the
upper edge is the same thing mirrored.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from server.craft.saw.layout.problem import KEEP_LENGTH_UM, Rect, Wood
from server.craft.saw.layout.sawn import Contents, Placed, Sawn, useful, worth

Lane = tuple[int, Contents]
"""(kind, contents) of one strip of a section."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a section starts: a rest, the clear rectangle in it, and which corner of that."""

    rest: Rect
    clear: Rect
    far: bool = False
    upper: bool = False
    rip_first: bool = False


def _mirrored(rect: Rect, far: bool, upper: bool) -> Rect:
    x0, x1, y0, y1 = rect
    if far:
        x0, x1 = -x1, -x0
    if upper:
        y0, y1 = -y1, -y0
    return x0, x1, y0, y1


def lay_section(wood: Wood, sawn: Sawn, spot: Spot, lanes: Sequence[Lane]) -> Sawn:
    """The board with these lanes laid; of the ways to cut the rests, the one worth most."""
    rest = _mirrored(spot.rest, spot.far, spot.upper)
    clear = _mirrored(spot.clear, spot.far, spot.upper)
    strips = _stacked(wood, clear[0], clear[2], lanes)
    ways = _rows(wood, rest, strips) if spot.rip_first else _columns(wood, rest, strips)
    stock = sawn.stock
    best: list[Rect] = []
    best_worth = -1.0
    for way in ways:
        kept = [_mirrored(part, spot.far, spot.upper) for part in way]
        kept = [part for part in kept if useful(wood, stock, part)]
        value = sum(worth(stock, part) for part in kept)
        if value > best_worth + 1e-12:
            best, best_worth = kept, value
    others = tuple(part for part in sawn.rests if part != spot.rest)
    laid = tuple(_placed(strip, spot) for strip in strips)
    return Sawn(stock, sawn.strips + laid, others + tuple(best), sawn)


def _placed(strip: Placed, spot: Spot) -> Placed:
    x_um = -strip.x_um - strip.length_um if spot.far else strip.x_um
    y_um = -strip.y_um - strip.width_um if spot.upper else strip.y_um
    return Placed(x_um, y_um, strip.length_um, strip.width_um, strip.kind, strip.contents)


def _stacked(wood: Wood, x_um: int, y_um: int, lanes: Sequence[Lane]) -> list[Placed]:
    strips = []
    for kind, contents in lanes:
        width_um = wood.kinds[kind].width_um
        length_um = wood.strip_um(kind, contents)
        strips.append(Placed(x_um, y_um, length_um, width_um, kind, contents))
        y_um += width_um + wood.rip_um
    return strips


def _columns(wood: Wood, rest: Rect, strips: list[Placed]) -> Iterator[list[Rect]]:
    """Cross cut the section off first, then rip it: the rests beyond keep the full width."""
    x0, x1, y0, y1 = rest
    x_um, end_um = strips[0].x_um, max(strip.x_um + strip.length_um for strip in strips)
    below, top = strips[0].y_um, strips[-1].y_um + strips[-1].width_um
    starts = {x0}
    if x_um - wood.cross_um - x0 >= min(KEEP_LENGTH_UM, max(1, wood.shortest_um)):
        starts.add(x_um)
    for start in sorted(starts, reverse=True):
        ends = [end_um, start + KEEP_LENGTH_UM, x1]
        for end in dict.fromkeys(e for e in ends if end_um <= e <= x1):
            parts = [(x0, start - wood.cross_um, y0, y1), (end + wood.cross_um, x1, y0, y1)]
            parts += [(start, end, y0, below - wood.rip_um), (start, end, top + wood.rip_um, y1)]
            yield parts + _tails(wood, strips, end)


def _rows(wood: Wood, rest: Rect, strips: list[Placed]) -> Iterator[list[Rect]]:
    """Rip the section's band off first: the rests above and below keep the full length."""
    x0, x1, y0, y1 = rest
    x_um, end_um = strips[0].x_um, max(strip.x_um + strip.length_um for strip in strips)
    below, top = strips[0].y_um, strips[-1].y_um + strips[-1].width_um
    bands = [(x0, x1, y0, below - wood.rip_um), (x0, x1, top + wood.rip_um, y1)]
    bands.append((x0, x_um - wood.cross_um, below, top))
    block = (end_um + wood.cross_um, x1, below, top)
    yield [*bands, block, *_tails(wood, strips, end_um)]
    yield bands + _tails(wood, strips, x1)


def _tails(wood: Wood, strips: list[Placed], end_um: int) -> list[Rect]:
    """What is left of each lane between its strip and the section's end."""
    return [
        (s.x_um + s.length_um + wood.cross_um, end_um, s.y_um, s.y_um + s.width_um) for s in strips
    ]
