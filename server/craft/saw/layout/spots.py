"""Where on the boards the next section may start, with the few numbers its price depends on."""

from dataclasses import dataclass

from server.craft.saw.layout.problem import KEEP_LENGTH_UM, NARROW_WORTH, Rect, Stock, Wood
from server.craft.saw.layout.sawn import clear_rects, share
from server.craft.saw.layout.section import Spot


@dataclass(frozen=True, slots=True)
class Candidate:
    """A spot in plain numbers (µm and money), mirrored to the near lower corner.

    `room` and `height` are what the lanes may use; `before`, `beyond`, `above` price what the
    rest was worth, a µm of the full rest beyond the section, and a µm² of a narrow rest.
    """

    spot: Spot
    fits: tuple[int, ...]
    room: int
    height: int
    front: int
    reach: int
    rest_length: int
    headroom: int
    below: int
    before: float
    beyond: float
    above: float


def spots_on(wood: Wood, stock: Stock, rest: Rect) -> list[Spot]:
    """Every corner worth starting a section at in this rest."""
    spots: list[Spot] = []
    for clear in clear_rects(stock, rest):
        if clear[1] - clear[0] < wood.shortest_um:
            continue
        plain = clear[2] == rest[2] and clear[3] == rest[3] and not _spoilt(stock, rest)
        for far in (False,) if plain else (False, True):
            for upper in (False,) if plain else (False, True):
                spots.append(Spot(rest, clear, far, upper))
                if clear[3] - clear[2] < rest[3] - rest[2] or plain:
                    spots.append(Spot(rest, clear, far, upper, rip_first=True))
        inner = _inner(wood, stock, rest, clear)
        if inner:
            spots.append(inner)
    return spots


def _spoilt(stock: Stock, rest: Rect) -> bool:
    return any(
        a1 > rest[0] and a0 < rest[1] and b1 > rest[2] and b0 < rest[3]
        for a0, a1, b0, b1 in stock.defects
    )


def _inner(wood: Wood, stock: Stock, rest: Rect, clear: Rect) -> Spot | None:
    """Start behind a keepable rest instead of behind the trim: both ends stay whole."""
    start = rest[0] + KEEP_LENGTH_UM + wood.cross_um
    if rest[0] >= stock.trim_um or clear[0] > start or rest[3] - rest[2] < stock.width_um:
        return None
    if clear[1] - start < wood.shortest_um + wood.cross_um + KEEP_LENGTH_UM:
        return None
    return Spot(rest, (start, clear[1], clear[2], clear[3]))


def measured(wood: Wood, stock: Stock, rest: Rect, opened: bool) -> tuple[Candidate, ...]:
    """Every spot of a rest, measured."""
    return tuple(_candidate(wood, stock, spot, opened) for spot in spots_on(wood, stock, rest))


def _candidate(wood: Wood, stock: Stock, spot: Spot, opened: bool) -> Candidate:
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
    return Candidate(
        spot,
        stock.fits,
        clear[1] - clear[0],
        clear[3] - clear[2],
        front,
        x1 - start,
        length,
        y1 - base,
        max(0, base - y0 - wood.rip_um),
        before,
        beyond,
        NARROW_WORTH * rate,
    )
