"""A board with the strips to come from it, every cut numbered in the order to make it.

Lying for a wide page, upright for a narrow one: redrawn, not turned. Crosscut marks are figures
from one end in mm; a run of rips in one part has one tag.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from server.craft.units import format_mm
from server.exports.dimensions import spread
from server.exports.drawing import Drawing, Letter, Paint, Path, Pen, Point, Round, Tone

LONG = 772.0
UPRIGHT_LONG = 560.0
DEEPEST = 170.0
_EDGE = 3.0
_TAG_ROOM = 44.0
_UPRIGHT_ROOM = 98.0
_PALE = 0.26
_LETTER_ROOM = 21.0


@dataclass(frozen=True, slots=True)
class Place:
    """A rectangle on the board, x along the grain, mm."""

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class StripFigure:
    """A strip where it lies. `lit` ones are in hand: drawn in full wood, the others pale.

    `joints` are the mitre cuts: places along the strip at its near and its far edge, mm.
    """

    place: Place
    label: str
    lit: bool = True
    joints: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class CutFigure:
    """One cut: a crosscut at `mark_mm` from the end or a rip at that from the edge of `part`."""

    number: int
    kind: Literal["crosscut", "rip"]
    mark_mm: float
    part: Place


@dataclass(frozen=True, slots=True)
class BoardFigure:
    """A board with everything on it; colours as #rrggbb."""

    title: str
    length_mm: float
    width_mm: float
    colour: str
    grain: str
    strips: tuple[StripFigure, ...] = ()
    offcuts: tuple[Place, ...] = ()
    defects: tuple[Place, ...] = ()
    cuts: tuple[CutFigure, ...] = ()


class _Sheet:
    """Board coordinates to the sheet, lying or upright."""

    def __init__(
        self, figure: BoardFigure, *, upright: bool, long: float, deepest: float, scale: float
    ) -> None:
        self.upright = upright
        self.scale = scale or min(long / figure.length_mm, deepest / figure.width_mm)
        tags = bool(figure.cuts)
        room = _UPRIGHT_ROOM if upright else _TAG_ROOM
        self.before = _EDGE + (room if tags else 0.0)
        self.long = figure.length_mm * self.scale
        self.deep = figure.width_mm * self.scale
        across = self.before + self.deep + (_TAG_ROOM if tags else 0.0) + _EDGE
        along = self.long + 2 * _EDGE
        self.drawing = Drawing(
            across if upright else max(along, long + 2 * _EDGE),
            along if upright else across,
            figure.title,
        )

    def at(self, x_mm: float, y_mm: float) -> Point:
        along, across = _EDGE + x_mm * self.scale, self.before + y_mm * self.scale
        return (across, along) if self.upright else (along, across)

    def corners(self, place: Place) -> tuple[Point, ...]:
        x1, y1 = place.x_mm + place.length_mm, place.y_mm + place.width_mm
        return (
            self.at(place.x_mm, place.y_mm),
            self.at(x1, place.y_mm),
            self.at(x1, y1),
            self.at(place.x_mm, y1),
        )


def board_layout(
    figure: BoardFigure,
    *,
    upright: bool = False,
    long: float = LONG,
    deepest: float = DEEPEST,
    scale: float = 0.0,
) -> Drawing:
    """The board; `long` and `deepest` are the room along and across the grain, in sheet units.

    `scale`, sheet units per mm, is given where several boards are drawn to one.
    """
    sheet = _Sheet(figure, upright=upright, long=long, deepest=deepest, scale=scale)
    whole = Place(0.0, 0.0, figure.length_mm, figure.width_mm)
    paint = Paint(figure.colour, _PALE if figure.strips else 1.0)
    sheet.drawing.area(sheet.corners(whole), paint)
    if not figure.strips:
        _grain(sheet, figure)
    for offcut in figure.offcuts:
        sheet.drawing.area(sheet.corners(offcut), Tone.LIT, Pen.THIN_INK)
        _letter_offcut(sheet, offcut)
    for strip in figure.strips:
        _strip(sheet, figure, strip)
    for defect in figure.defects:
        _defect(sheet, defect)
    for cut in figure.cuts:
        _cut(sheet, cut)
    sheet.drawing.area(sheet.corners(whole), None, Pen.WIDE)
    if figure.cuts:
        _crosscut_tags(sheet, [cut for cut in figure.cuts if cut.kind == "crosscut"])
        _rip_tags(sheet, [cut for cut in figure.cuts if cut.kind == "rip"])
    return sheet.drawing


def _grain(sheet: _Sheet, figure: BoardFigure) -> None:
    """Lines along the grain, so that length and width are told apart."""
    for line in range(1, 6):
        y = figure.width_mm * line / 6
        points = [
            sheet.at(
                figure.length_mm * k / 14,
                y + figure.width_mm * 0.02 * math.sin(1.7 * k + 2.1 * line),
            )
            for k in range(1, 14)
        ]
        sheet.drawing.add(Path(tuple(points), Pen.GRAIN, line=figure.grain))


def _strip(sheet: _Sheet, figure: BoardFigure, strip: StripFigure) -> None:
    drawing, place = sheet.drawing, strip.place
    paint = Paint(figure.colour, 1.0 if strip.lit else _PALE)
    drawing.area(sheet.corners(place), paint)
    for near, far in strip.joints:
        ends = (
            sheet.at(place.x_mm + near, place.y_mm),
            sheet.at(place.x_mm + far, place.y_mm + place.width_mm),
        )
        drawing.add(Path(ends, Pen.JOINT, line=figure.grain))
    drawing.area(sheet.corners(place), None, Pen.WIDE if strip.lit else Pen.THIN_INK)
    room = place.width_mm * sheet.scale
    wide = place.length_mm * sheet.scale
    if not strip.lit and room >= _LETTER_ROOM and wide > 8.5 * len(strip.label):
        x, y = sheet.at(place.x_mm + place.length_mm / 2, place.y_mm + place.width_mm / 2)
        drawing.text(
            (x + (5 if sheet.upright else 0), y + (0 if sheet.upright else 5)),
            strip.label,
            Letter.NOTE,
            turned=sheet.upright,
        )


def _letter_offcut(sheet: _Sheet, offcut: Place) -> None:
    words = f"{offcut.length_mm:.0f} × {offcut.width_mm:.0f}"
    long, deep = offcut.length_mm * sheet.scale, offcut.width_mm * sheet.scale
    x, y = sheet.at(offcut.x_mm + offcut.length_mm / 2, offcut.y_mm + offcut.width_mm / 2)
    shift = (6.0, 0.0) if sheet.upright else (0.0, 6.0)
    at = (x + shift[0], y + shift[1])
    if deep >= 46 and long >= 110 and not sheet.upright:
        sheet.drawing.text((x, y - 2), words, Letter.PLAIN)
        sheet.drawing.text((x, y + 18), "back to the rack", Letter.SMALL)
    elif deep >= _LETTER_ROOM and long >= 80:
        sheet.drawing.text(at, words, Letter.NOTE, turned=sheet.upright)


def _defect(sheet: _Sheet, defect: Place) -> None:
    x, y = sheet.at(defect.x_mm + defect.length_mm / 2, defect.y_mm + defect.width_mm / 2)
    along, across = defect.length_mm * sheet.scale / 2, defect.width_mm * sheet.scale / 2
    rx, ry = (across, along) if sheet.upright else (along, across)
    sheet.drawing.add(Round((x, y), max(rx, 2.0), max(ry, 2.0), Pen.FAULT_NARROW, Tone.PAPER))


def _cut(sheet: _Sheet, cut: CutFigure) -> None:
    part, over = cut.part, 4 / sheet.scale
    if cut.kind == "crosscut":
        ends = (
            sheet.at(cut.mark_mm, part.y_mm - over),
            sheet.at(cut.mark_mm, part.y_mm + part.width_mm + over),
        )
    else:
        ends = (
            sheet.at(part.x_mm - over, cut.mark_mm),
            sheet.at(part.x_mm + part.length_mm + over, cut.mark_mm),
        )
    sheet.drawing.line(*ends, Pen.CUT)


def _crosscut_tags(sheet: _Sheet, cuts: Sequence[CutFigure]) -> None:
    """Number and mark of each crosscut beside the board, with a leader to its line."""
    least = 30.0 if sheet.upright else 78.0
    cuts = sorted(cuts, key=lambda cut: cut.mark_mm)
    wanted = [_EDGE + cut.mark_mm * sheet.scale for cut in cuts]
    for cut, place in zip(cuts, _kept_on(sheet, spread(wanted, least), least), strict=True):
        near = sheet.at(cut.mark_mm, 0.0)
        words = format_mm(cut.mark_mm)
        if sheet.upright:
            sheet.drawing.line((near[0] - 4, near[1]), (near[0] - 14, place), Pen.NARROW)
            _tag(sheet.drawing, (near[0] - 84, place), str(cut.number))
            sheet.drawing.text((near[0] - 68, place + 5.5), words, Letter.NOTE, "start")
        else:
            sheet.drawing.line((near[0], near[1] - 4), (place, near[1] - 14), Pen.NARROW)
            _tag(sheet.drawing, (place - 22, near[1] - 28), str(cut.number))
            sheet.drawing.text((place - 4, near[1] - 22), words, Letter.NOTE, "start")


def _rip_tags(sheet: _Sheet, cuts: Sequence[CutFigure]) -> None:
    """One tag for each run of rips in one part, below the board."""
    runs = [list(run) for _, run in groupby(cuts, key=lambda cut: _ends(cut.part))]
    runs.sort(key=lambda run: run[0].part.x_mm + run[0].part.length_mm / 2)
    least = 34.0 if sheet.upright else 88.0
    wanted = [_EDGE + (run[0].part.x_mm + run[0].part.length_mm / 2) * sheet.scale for run in runs]
    for run, place in zip(runs, _kept_on(sheet, spread(wanted, least), least), strict=True):
        numbers = str(run[0].number)
        if len(run) > 1:
            numbers += f"–{run[-1].number}"
        deepest = max(cut.mark_mm for cut in run)
        x_mm = run[0].part.x_mm + run[0].part.length_mm / 2
        near = sheet.at(x_mm, deepest)
        edge = sheet.before + sheet.deep
        if sheet.upright:
            sheet.drawing.line(near, (edge + 8, place), Pen.NARROW)
            _tag(sheet.drawing, (edge + 26, place), numbers)
        else:
            sheet.drawing.line(near, (place, edge + 10), Pen.NARROW)
            _tag(sheet.drawing, (place - 12, edge + 26), numbers)
            wide = 6.0 + 4.6 * len(numbers)
            sheet.drawing.text((place + wide, edge + 32), "rip", Letter.NOTE, "start")


def _ends(part: Place) -> tuple[float, float]:
    return round(part.x_mm, 3), round(part.x_mm + part.length_mm, 3)


def _kept_on(sheet: _Sheet, places: list[float], least: float) -> list[float]:
    """Tags stay on the sheet and in order: pushed back from its far end, then from its near one."""
    kept, limit = list(places), sheet.long + 2 * _EDGE - least / 2
    for k in reversed(range(len(kept))):
        kept[k] = min(kept[k], limit)
        limit = kept[k] - least
    limit = least / 2
    for k in range(len(kept)):
        kept[k] = max(kept[k], limit)
        limit = kept[k] + least
    return kept


def _tag(drawing: Drawing, centre: Point, words: str) -> None:
    half = max(12.0, 5.0 * len(words) + 5.0)
    x, y = centre
    drawing.box((x - half, y - 12.0), (2 * half, 24.0), Tone.PAPER, Pen.THIN_INK)
    drawing.text((x, y + 5.5), words, Letter.NOTE)
