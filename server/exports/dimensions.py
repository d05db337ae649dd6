"""Dimension lines by ISO 129-1: extension lines with a gap, filled arrowheads of 15°, and the
figure above the line; an upright one is read from the right."""

import math

from server.exports.drawing import Drawing, Letter, Path, Pen, Point, Round, Tone

ARROW_LENGTH = 11.0
ARROW_HALF = ARROW_LENGTH * math.tan(math.radians(7.5))
"""Half the base of an arrowhead whose sides enclose 15°."""

EXTENSION_GAP = 4.0
EXTENSION_OVER = 7.0
TIGHT = 2.6 * ARROW_LENGTH
"""Closer than this the arrows come from outside."""


def arrowhead(
    tip: Point, towards_deg: float, tone: Tone = Tone.ARROW, length: float = ARROW_LENGTH
) -> Path:
    """A filled arrowhead whose point is at `tip`; 0° points right, 90° down."""
    cos, sin = math.cos(math.radians(towards_deg)), math.sin(math.radians(towards_deg))
    half = ARROW_HALF * length / ARROW_LENGTH
    x, y = tip[0] - length * cos, tip[1] - length * sin
    base = ((x - half * sin, y + half * cos), (x + half * sin, y - half * cos))
    return Path((tip, *base), Pen.NONE, tone, True)


def dimension_across(
    drawing: Drawing,
    x1: float,
    x2: float,
    y: float,
    words: str,
    *,
    from_y: tuple[float | None, float | None] = (None, None),
    letter: Letter = Letter.PLAIN,
    lift: float = 7.0,
) -> None:
    """A level dimension between `x1` < `x2` at height `y`; extension lines start at `from_y`."""
    for x, start in zip((x1, x2), from_y, strict=True):
        if start is not None:
            down = 1 if y > start else -1
            drawing.line(
                (x, start + down * EXTENSION_GAP), (x, y + down * EXTENSION_OVER), Pen.NARROW
            )
    if x2 - x1 >= TIGHT:
        drawing.line((x1, y), (x2, y), Pen.NARROW)
        drawing.add(arrowhead((x1, y), 180), arrowhead((x2, y), 0))
    else:
        drawing.line((x1 - 2 * ARROW_LENGTH, y), (x2 + 2 * ARROW_LENGTH, y), Pen.NARROW)
        drawing.add(arrowhead((x1, y), 0), arrowhead((x2, y), 180))
    drawing.text(((x1 + x2) / 2, y - lift), words, letter)


def dimension_upright(
    drawing: Drawing,
    y1: float,
    y2: float,
    x: float,
    words: str,
    *,
    from_x: tuple[float | None, float | None] = (None, None),
    letter: Letter = Letter.PLAIN,
    lift: float = 8.0,
) -> None:
    """An upright dimension between `y1` < `y2` at `x`, its figure to the left of the line."""
    for y, start in zip((y1, y2), from_x, strict=True):
        if start is not None:
            over = 1 if x > start else -1
            drawing.line(
                (start + over * EXTENSION_GAP, y), (x + over * EXTENSION_OVER, y), Pen.NARROW
            )
    if y2 - y1 >= TIGHT:
        drawing.line((x, y1), (x, y2), Pen.NARROW)
        drawing.add(arrowhead((x, y1), -90), arrowhead((x, y2), 90))
    else:
        drawing.line((x, y1 - 2 * ARROW_LENGTH), (x, y2 + 2 * ARROW_LENGTH), Pen.NARROW)
        drawing.add(arrowhead((x, y1), 90), arrowhead((x, y2), -90))
    drawing.text((x - lift, (y1 + y2) / 2), words, letter, turned=True)


def leader(drawing: Drawing, at: Point, knee: Point, to: Point) -> None:
    """A thin line from lettering at `at` by a knee to the thing meant at `to`."""
    drawing.polyline((at, knee, to), Pen.NARROW)


def balloon(drawing: Drawing, centre: Point, words: str, radius: float = 13.0) -> None:
    """A number in a ring, as items are counted on a drawing."""
    drawing.add(Round(centre, radius, radius, Pen.THIN_INK, Tone.PAPER))
    drawing.text((centre[0], centre[1] + 6.5), words, Letter.NOTE)


def spread(wanted: list[float], least: float) -> list[float]:
    """Push label heights apart to at least `least`, the whole staying where it belongs.

    Heights in, same order out: neighbours that are too close share the way (a pool of labels is
    centred on the mean of where its members want to be).
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    pools: list[tuple[float, int]] = []  # (sum of wanted − own place in the pool, members)
    for i in order:
        pools.append((wanted[i], 1))
        while len(pools) > 1:
            (a, n), (b, m) = pools[-2], pools[-1]
            # Top of the lower pool must not be less than the end of the upper one.
            first_a, first_b = a / n - (n - 1) * least / 2, b / m - (m - 1) * least / 2
            if first_a + n * least <= first_b:
                break
            pools[-2:] = [(a + b, n + m)]
    placed: list[float] = []
    for total, members in pools:
        first = total / members - (members - 1) * least / 2
        placed += [first + k * least for k in range(members)]
    result = [0.0] * len(wanted)
    for place, i in zip(placed, order, strict=True):
        result[i] = place
    return result
