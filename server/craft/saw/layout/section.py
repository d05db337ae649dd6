"""Laying one section: lanes side by side in a clear rectangle of a rest, and the rests it leaves.

A lane holds one strip, or several end to end. The work is done with the section at the near
lower corner; a section at the far end or at the upper edge is the same thing mirrored.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from server.craft.saw.layout.problem import KEEP_LENGTH_UM, Rect, Wood
from server.craft.saw.layout.sawn import Contents, Placed, Sawn, useful, worth

Run = tuple[int, Contents]
"""(kind, contents) of one strip."""
Lane = tuple[Run, ...]
"""Strips end to end; the lane is as wide as its widest."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a section starts: a rest, the clear rectangle in it, and which corner of that."""

    rest: Rect
    clear: Rect
    far: bool = False
    upper: bool = False
    rip_first: bool = False


@dataclass(frozen=True, slots=True)
class _Block:
    """The lanes of a section in its own corner: from `start` along to `end`, `low` to `high`."""

    start: int
    end: int
    low: int
    high: int
    strips: tuple[Placed, ...]
    tails: tuple[Rect, ...]
    slivers: tuple[Rect, ...]


def lane_um(wood: Wood, lane: Lane) -> int:
    """Length of a lane: its strips and the kerfs between them."""
    strips = sum(wood.strip_um(kind, contents) for kind, contents in lane)
    return strips + (len(lane) - 1) * wood.cross_um


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
    block = _block(wood, clear[0], clear[2], lanes)
    ways = _rows(wood, rest, block) if spot.rip_first else _columns(wood, rest, block)
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
    laid = tuple(_placed(strip, spot) for strip in block.strips)
    return Sawn(stock, sawn.strips + laid, others + tuple(best), sawn)


def _placed(strip: Placed, spot: Spot) -> Placed:
    x_um = -strip.x_um - strip.length_um if spot.far else strip.x_um
    y_um = -strip.y_um - strip.width_um if spot.upper else strip.y_um
    return Placed(x_um, y_um, strip.length_um, strip.width_um, strip.kind, strip.contents)


def _block(wood: Wood, x_um: int, y_um: int, lanes: Sequence[Lane]) -> _Block:
    strips, tails, slivers = [], [], []
    low, end = y_um, x_um
    for lane in lanes:
        high = y_um + max(wood.kinds[kind].width_um for kind, _ in lane)
        at = x_um
        for kind, contents in lane:
            width_um, length_um = wood.kinds[kind].width_um, wood.strip_um(kind, contents)
            strips.append(Placed(at, y_um, length_um, width_um, kind, contents))
            slivers.append((at, at + length_um, y_um + width_um + wood.rip_um, high))
            at += length_um + wood.cross_um
        tails.append((at, at, y_um, high))
        end = max(end, at - wood.cross_um)
        y_um = high + wood.rip_um
    high = y_um - wood.rip_um
    return _Block(x_um, end, low, high, tuple(strips), tuple(tails), tuple(slivers))


def _columns(wood: Wood, rest: Rect, block: _Block) -> Iterator[list[Rect]]:
    """Cross cut the section off first, then rip it: the rests beyond keep the full width."""
    x0, x1, y0, y1 = rest
    starts = [x0]
    if block.start - wood.cross_um - x0 >= min(KEEP_LENGTH_UM, max(1, wood.shortest_um)):
        starts.insert(0, block.start)
    for start in starts:
        ends = [block.end, start + KEEP_LENGTH_UM, x1]
        for end in dict.fromkeys(e for e in ends if block.end <= e <= x1):
            parts = [(x0, start - wood.cross_um, y0, y1), (end + wood.cross_um, x1, y0, y1)]
            parts.append((start, end, y0, block.low - wood.rip_um))
            parts.append((start, end, block.high + wood.rip_um, y1))
            yield parts + _inside(block, end)


def _rows(wood: Wood, rest: Rect, block: _Block) -> Iterator[list[Rect]]:
    """Rip the section's band off first: the rests above and below keep the full length."""
    x0, x1, y0, y1 = rest
    bands = [(x0, x1, y0, block.low - wood.rip_um), (x0, x1, block.high + wood.rip_um, y1)]
    bands.append((x0, block.start - wood.cross_um, block.low, block.high))
    beyond = (block.end + wood.cross_um, x1, block.low, block.high)
    yield [*bands, beyond, *_inside(block, block.end)]
    yield bands + _inside(block, x1)


def _inside(block: _Block, end_um: int) -> list[Rect]:
    """What is left of each lane behind its strips and beside its narrower ones."""
    return [(x0, end_um, y0, y1) for x0, _, y0, y1 in block.tails] + list(block.slivers)
