"""One stay in the shop drawn to scale: a line for each press, a block for each ring."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from server.exports.drawing import Anchor, Drawing, Letter, Paint, Pen

WIDTH = 440.0
ROW, GAP, AXIS = 38.0, 8.0, 24.0
LEAST_FOR_WORDS, LEAST_FOR_A_LETTER = 40.0, 20.0
BETWEEN_HOURS = 72.0
"""What an hour written out takes, on a phone too, where lettering is larger in the drawing."""

_EVERY_HOURS = (1, 2, 3, 4, 6, 12, 24)


@dataclass(frozen=True, slots=True)
class Block:
    """A ring in a press: its words, or its faceplate's letter where it is narrow, its wood."""

    words: str
    letter: str
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
    wide = right - left
    words = block.words if wide >= LEAST_FOR_WORDS else block.letter
    if wide >= LEAST_FOR_A_LETTER:
        sheet.text(((left + right) / 2, y + ROW / 2 + 7), words, Letter.PLAIN)


def _hours(
    sheet: Drawing, begin: datetime, end: datetime, x: Callable[[datetime], float], height: float
) -> None:
    hours = max((end - begin).total_seconds() / 3600, 1.0)
    apart = WIDTH / hours
    every = next((k for k in _EVERY_HOURS if k * apart >= BETWEEN_HOURS), _EVERY_HOURS[-1])
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
