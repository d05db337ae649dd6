"""Templates on paper: small ones side by side, large ones on tiles that meet at their marks."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from server.craft.units import MM_PER_INCH
from server.exports.templates.ink import (
    STYLE,
    Pen,
    Stroke,
    Template,
    Words,
    inside,
    n,
    stroke_svg,
    words_svg,
)
from server.exports.typeset.paper import MARGIN_MM, Size
from server.exports.words import one_line

OVERLAP_MM = 10.0
BAR_MM = 50.0
BAR_IN_MM = float(2 * MM_PER_INCH)

MOST_PAGES = 300
"""More than anybody prints; what does not fit is named on the last page."""

PRINT_WORDS = (
    "Print at 100 % (actual size), not fitted to the page. Measure both bars before cutting."
)

_HEAD_MM = 9.0
_FOOT_MM = 17.0
_SPACE_MM = 5.0
_MARK_MM = 4.0


@dataclass(slots=True)
class Page:
    """One page: what lies in its window, in mm from the window's left upper corner."""

    title: str
    strokes: list[Stroke] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)


def window(size: Size) -> tuple[float, float]:
    """What is left of the paper for templates, width and height in mm."""
    return size.free_width_mm, size.free_height_mm - _HEAD_MM - _FOOT_MM


def laid_out(templates: Iterable[Template], size: Size) -> list[Page]:
    """All pages. The last of `MOST_PAGES` says which templates did not fit any more."""
    width, height = window(size)
    pages: list[Page] = []
    shelf = _Shelf(width, height, pages)
    left_out = []
    for template in templates:
        if template.width_mm <= width and template.height_mm <= height:
            more = 0 if shelf.takes(template) else 1
        else:
            more = len(_tiles(template, width, height))
        if len(pages) + more >= MOST_PAGES:
            left_out.append(template.title)
        elif template.width_mm <= width and template.height_mm <= height:
            shelf.put(template)
        else:
            pages += _tiled(template, width, height)
    if left_out:
        pages.append(_rest(left_out))
    return pages


class _Shelf:
    """Fills pages row by row, in the order in which templates come."""

    def __init__(self, width: float, height: float, pages: list[Page]) -> None:
        self.width, self.height, self.pages = width, height, pages
        self.page: Page | None = None
        self.x = self.y = self.row = 0.0

    def takes(self, template: Template) -> bool:
        """Whether the page that is open has room for it."""
        if self.page is None:
            return False
        if self.x + template.width_mm <= self.width:
            return self.y + template.height_mm <= self.height
        return self.y + self.row + _SPACE_MM + template.height_mm <= self.height

    def put(self, template: Template) -> None:
        """Lay it on the open page, or on a new one."""
        if not self.takes(template):
            self.page = Page(template.title)
            self.pages.append(self.page)
            self.x = self.y = self.row = 0.0
        elif self.x + template.width_mm > self.width:
            self.x, self.y, self.row = 0.0, self.y + self.row + _SPACE_MM, 0.0
        assert self.page is not None
        if self.page.title != template.title:
            self.page.title = "Several templates"
        self.page.strokes += [stroke.moved(self.x, self.y) for stroke in template.strokes]
        self.page.words += [words.moved(self.x, self.y) for words in template.words]
        self.x += template.width_mm + _SPACE_MM
        self.row = max(self.row, template.height_mm)


@dataclass(frozen=True, slots=True)
class _Tile:
    row: int
    column: int
    x: float
    y: float


def _tiles(template: Template, width: float, height: float) -> list[_Tile]:
    across, down = width - OVERLAP_MM, height - OVERLAP_MM
    columns = max(1, math.ceil((template.width_mm - OVERLAP_MM) / across))
    rows = max(1, math.ceil((template.height_mm - OVERLAP_MM) / down))
    return [_Tile(r, c, c * across, r * down) for r in range(rows) for c in range(columns)]


def _tiled(template: Template, width: float, height: float) -> Iterator[Page]:
    """The tiles that have something on them, with marks at points that neighbours share."""
    tiles = _tiles(template, width, height)
    rows, columns = tiles[-1].row + 1, tiles[-1].column + 1
    for tile in tiles:
        box = (tile.x, tile.y, tile.x + width, tile.y + height)
        found = inside(template.strokes, box)
        words = [w for w in template.words if _in(w.at, box)]
        if not found and not words:
            continue
        where = f"row {tile.row + 1} of {rows}, column {tile.column + 1} of {columns}"
        page = Page(f"{template.title}; {where}")
        page.strokes = [stroke.moved(-tile.x, -tile.y) for stroke in found]
        page.words = [w.moved(-tile.x, -tile.y) for w in words]
        page.strokes += _marks(width, height)
        yield page


def _in(at: tuple[float, float], box: tuple[float, float, float, float]) -> bool:
    return box[0] <= at[0] <= box[2] and box[1] <= at[1] <= box[3]


def _marks(width: float, height: float) -> Iterator[Stroke]:
    """Crosses in the middle of the overlap: lay those of neighbours on each other."""
    half = OVERLAP_MM / 2
    for x in (half, width - half):
        for y in (half, height - half):
            for a, b in (((-_MARK_MM, 0), (_MARK_MM, 0)), ((0, -_MARK_MM), (0, _MARK_MM))):
                yield Stroke(np.array([a, b]) + np.array([x, y]), Pen.MARK)


def _rest(titles: Sequence[str]) -> Page:
    page = Page("Not printed here")
    page.words.append(Words((0.0, 6.0), f"{len(titles)} templates more would not fit:", 4.0))
    for row, title in enumerate(titles[:40]):
        page.words.append(Words((0.0, 13.0 + 5 * row), one_line(title, 90), 3.2))
    return page


def page_svg(page: Page, size: Size, piece_name: str, number: int, count: int) -> str:
    """The whole page, of real size."""
    width, height = window(size)
    left, top = MARGIN_MM, MARGIN_MM + _HEAD_MM
    body = "".join(map(stroke_svg, page.strokes)) + "".join(map(words_svg, page.words))
    frame = "".join(map(words_svg, _head(page, size, piece_name, number, count)))
    foot = MARGIN_MM + size.free_height_mm
    frame += "".join(map(stroke_svg, _bars(foot))) + "".join(map(words_svg, _bar_words(foot)))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{n(size.width_mm)}mm" '
        f'height="{n(size.height_mm)}mm" viewBox="0 0 {n(size.width_mm)} {n(size.height_mm)}">'
        f"<style>{STYLE}</style>"
        f'<clipPath id="w"><rect x="{n(left)}" y="{n(top)}" width="{n(width)}" '
        f'height="{n(height)}"/></clipPath>'
        f'<g clip-path="url(#w)"><g transform="translate({n(left)} {n(top)})">{body}</g></g>'
        f"{frame}</svg>"
    )


def _head(page: Page, size: Size, piece_name: str, number: int, count: int) -> Iterator[Words]:
    y = MARGIN_MM + 4.5
    yield Words((MARGIN_MM, y), one_line(f"{piece_name} · {page.title}", 88), 3.6, True)
    right = size.width_mm - MARGIN_MM
    yield Words((right, y), f"{number} / {count}", 3.6, True, "end")


def _bars(foot: float) -> Iterator[Stroke]:
    """Two bars to measure: 50 mm and 2 in, from the outer edge of one end line to the other."""
    for length, y in ((BAR_MM, foot - 8.0), (BAR_IN_MM, foot - 2.0)):
        x0, x1 = MARGIN_MM, MARGIN_MM + length
        box = [(x0, y - 1.5), (x1, y - 1.5), (x1, y), (x0, y)]
        yield Stroke(np.array(box), Pen.SOLID, True)


def _bar_words(foot: float) -> Iterator[Words]:
    x = MARGIN_MM + BAR_IN_MM + 3
    yield Words((x, foot - 7.8), f"{BAR_MM:.0f} mm", 3.4, True)
    yield Words((x, foot - 1.8), "2 in", 3.4, True)
    yield Words((MARGIN_MM, foot - 12.0), PRINT_WORDS, 3.4, True)
