"""One stay in the shop drawn to scale: a line for each press, a block for each ring."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from server.exports.drawing import Anchor, Drawing, Letter, Paint, Pen

WIDTH = 440.0
ROW, GAP, AXIS = 38.0, 8.0, 24.0
LEAST_FOR_WORDS = 40.0


@dataclass(frozen=True, slots=True)
class Block:
    """A ring in a press; `words` as on the ring, `colour` of its wood."""

    words: str
    press: int
    starts_at: datetime
    ends_at: datetime
    colour: str


def chart(
    title: str, begin: datetime, end: datetime, presses: int, blocks: Sequence[Block]
) -> Drawing:
    """The stay from `begin` to `end`, full hours ticked."""
    height = AXIS + presses * (ROW + GAP)
    sheet = Drawing(WIDTH, height, title)
    span = max((end - begin).total_seconds(), 1.0)

    def x(moment: datetime) -> float:
        return (moment - begin).total_seconds() / span * WIDTH

    for press in range(presses):
        y = press * (ROW + GAP)
        sheet.line((0, y + ROW), (WIDTH, y + ROW), Pen.NARROW)
    for block in blocks:
        _block(sheet, block, x(block.starts_at), x(block.ends_at))
    _hours(sheet, begin, end, x, height)
    return sheet


def _block(sheet: Drawing, block: Block, left: float, right: float) -> None:
    y = block.press * (ROW + GAP)
    sheet.box((left, y), (max(right - left, 2.0), ROW), Paint(block.colour, 0.42), Pen.WIDE)
    if right - left >= LEAST_FOR_WORDS:
        sheet.text(((left + right) / 2, y + ROW / 2 + 7), block.words, Letter.PLAIN)


def _hours(
    sheet: Drawing, begin: datetime, end: datetime, x: Callable[[datetime], float], height: float
) -> None:
    hours = (end - begin).total_seconds() / 3600
    every = 1 if hours <= 8 else 2 if hours <= 16 else 4
    moment = begin.replace(minute=0, second=0, microsecond=0)
    while moment <= end:
        if moment >= begin and moment.hour % every == 0:
            at = x(moment)
            sheet.line((at, height - AXIS - GAP), (at, height - AXIS + 2), Pen.NARROW)
            sheet.text((at, height - 6), f"{moment:%H:%M}", Letter.NOTE, _anchor(at))
        moment += timedelta(hours=1)


def _anchor(at: float) -> Anchor:
    """Lettering at an edge stays inside the drawing."""
    if at < 20:
        return "start"
    return "end" if at > WIDTH - 20 else "middle"
