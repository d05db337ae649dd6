"""Where on the boards the next section may start, with the few numbers its price depends on."""

from dataclasses import dataclass

from server.craft.saw.layout.problem import (
    KEEP_LENGTH_UM,
    KEEP_WIDTH_UM,
    NARROW_WORTH,
    Rect,
    Stock,
    Wood,
)
from server.craft.saw.layout.sawn import clear_rects, share
from server.craft.saw.layout.section import Spot
from server.craft.saw.layout.values import Widths


@dataclass(frozen=True, slots=True)
class Candidate:
    """A spot in plain numbers (µm and money), mirrored to the near lower corner.

    `numbers` in the order of `NUMBERS`: `room` is the longest lane; `front` what a section takes
    before its lanes; `reach` from the lanes' start to the rest's end; `rest_length` a section
    that takes the whole rest; `headroom` from the lanes' lower edge to the rest's upper one;
    `below` what stays under it; `before`, `beyond`, `above` price what the rest was worth, a µm
    of the full rest beyond the section, and a µm² of a narrow rest; `units` and `thrifty` are the
    most units of width for lanes, and for lanes that leave an offcut above (−1: none can be).
    """

    spot: Spot
    fits: tuple[int, ...]
    numbers: tuple[float, ...]

    @property
    def room_um(self) -> int:
        """The longest lane here."""
        return self.spot.clear[1] - self.spot.clear[0]


NUMBERS = (
    "room",
    "front",
    "reach",
    "rest_length",
    "headroom",
    "below",
    "before",
    "beyond",
    "above",
    "rip_first",
    "units",
    "thrifty",
)


def measured(
    wood: Wood, widths: Widths, stock: Stock, rest: Rect, opened: bool
) -> tuple[Candidate, ...]:
    """Every spot of a rest, measured."""
    return tuple(
        Candidate(spot, stock.fits, _numbers(wood, widths, stock, spot, opened))
        for spot in spots_on(wood, stock, rest)
    )


def spots_on(wood: Wood, stock: Stock, rest: Rect) -> list[Spot]:
    """Every corner worth starting a section at in this rest."""
    spots: list[Spot] = []
    spoilt = any(
        a1 > rest[0] and a0 < rest[1] and b1 > rest[2] and b0 < rest[3]
        for a0, a1, b0, b1 in stock.defects
    )
    for clear in clear_rects(stock, rest):
        if clear[1] - clear[0] < wood.shortest_um:
            continue
        sides = (False, True) if spoilt else (False,)
        for far in sides:
            for upper in sides:
                spots.append(Spot(rest, clear, far, upper))
                spots.append(Spot(rest, clear, far, upper, rip_first=True))
        spots += _inner(wood, stock, rest, clear)
    return spots


def _inner(wood: Wood, stock: Stock, rest: Rect, clear: Rect) -> list[Spot]:
    """Start behind a keepable rest instead of behind the trim: both ends stay whole."""
    start = rest[0] + KEEP_LENGTH_UM + wood.cross_um
    if rest[0] >= stock.trim_um or clear[0] > start or rest[3] - rest[2] < stock.width_um:
        return []
    if clear[1] - start < wood.shortest_um + wood.cross_um + KEEP_LENGTH_UM:
        return []
    return [Spot(rest, (start, clear[1], clear[2], clear[3]))]


def _numbers(
    wood: Wood, widths: Widths, stock: Stock, spot: Spot, opened: bool
) -> tuple[float, ...]:
    rest, clear = spot.rest, spot.clear
    x0, x1 = (-rest[1], -rest[0]) if spot.far else (rest[0], rest[1])
    y0, y1 = (-rest[3], -rest[2]) if spot.upper else (rest[2], rest[3])
    start = -clear[1] if spot.far else clear[0]
    base = -clear[3] if spot.upper else clear[2]
    length, width = x1 - x0, y1 - y0
    rate = stock.rate / 1e6
    kept = share(stock, length, width) if opened else 1.0
    spoilt = 0.0 if opened else sum((d[1] - d[0]) * (d[3] - d[2]) for d in stock.defects)
    front = start - x0
    beyond = share(stock, KEEP_LENGTH_UM, width) * rate * width
    before = kept * rate * length * width + rate * spoilt
    if front - wood.cross_um >= KEEP_LENGTH_UM and not spot.rip_first:
        before -= (front - wood.cross_um) * beyond
        front, length = 0, length - front
    units = widths.units(clear[3] - clear[2])
    headroom = y1 - base
    spare = headroom - KEEP_WIDTH_UM
    return (
        float(clear[1] - clear[0]),
        float(front),
        float(x1 - start),
        float(length),
        float(headroom),
        float(max(0, base - y0 - wood.rip_um)),
        before,
        beyond,
        NARROW_WORTH * rate * stock.returns,
        float(spot.rip_first),
        float(units),
        float(min(units, spare // widths.unit_um) if spare > 0 else -1),
    )
