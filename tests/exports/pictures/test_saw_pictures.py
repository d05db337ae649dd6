"""The saw's pictures measured with a ruler: true shapes, one scale, both views in line."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.exports.drawing import Drawing, Paint, Path, Pen, Text
from server.exports.pictures.board_layout import (
    BoardFigure,
    CutFigure,
    Place,
    StripFigure,
    board_layout,
)
from server.exports.pictures.segment_sheet import SegmentFigure, Share, segment_sheet
from server.exports.pictures.segment_tally import TallyFigure, segment_tally

ASH = {"colour": "#dfcaa0", "grain": "#b39766"}


def outlines(drawing: Drawing, pen: Pen) -> list[Path]:
    return [item for item in drawing.items if isinstance(item, Path) and item.pen is pen]


def words(drawing: Drawing) -> list[str]:
    return [item.words for item in drawing.items if isinstance(item, Text)]


@settings(deadline=None)
@given(st.integers(3, 72), st.floats(20, 300), st.floats(0.1, 0.95), st.floats(3, 60))
def test_a_segment_has_its_true_shape_and_both_views_one_scale(
    segments: int, radius: float, hole: float, thickness: float
) -> None:
    """Edges and width by the definition of a ring of flats; the mitre read off the corners."""
    theta = math.pi / segments
    outer, width = 2 * radius * math.tan(theta), radius - radius * hole * math.cos(theta)
    inner = outer - 2 * width * math.tan(theta)
    if inner <= 0:
        return
    figure = SegmentFigure(
        "One", outer, inner, width, thickness, math.degrees(theta), radius_mm=radius, **ASH
    )
    plan, edge = outlines(segment_sheet(figure), Pen.HEAVY)
    (ax, ay), (bx, by), (cx, cy), (dx, _) = plan.points
    scale = (bx - ax) / outer
    assert (cy - by) / width == pytest.approx(scale)
    assert (cx - dx) / inner == pytest.approx(scale)
    assert math.degrees(math.atan2(dx - ax, cy - ay)) == pytest.approx(math.degrees(theta))
    assert (edge.points[2][1] - edge.points[1][1]) / thickness == pytest.approx(scale)
    assert edge.points[0][0] == pytest.approx(ax)
    assert edge.points[1][0] == pytest.approx(bx)


def test_the_figures_on_the_sheet_are_the_segments_own() -> None:
    figure = SegmentFigure(
        "One", 44.72, 35.27, 26.8, 19.6, 10.0, ring=(Share(10, True), Share(10, False)), **ASH
    )
    assert {"44.7", "35.3", "26.8", "19.6", "10°", "1 of 2"} <= set(words(segment_sheet(figure)))


@pytest.mark.parametrize(("cut", "wanted"), [(0, 13), (13, 20), (25, 20), (70, 120), (3, 361)])
def test_the_tally_shows_every_segment_once(cut: int, wanted: int) -> None:
    drawing = segment_tally(TallyFigure(cut, wanted, wanted - 1, 0.1, "#dfcaa0"))
    glyphs = [dict(path.data) for path in outlines(drawing, Pen.WIDE)]
    assert [int(glyph["n"]) for glyph in glyphs] == list(range(1, max(cut, wanted) + 1))
    assert sum(glyph["state"] == "cut" for glyph in glyphs) == cut


def _board() -> BoardFigure:
    return BoardFigure(
        title="Board",
        length_mm=900,
        width_mm=150,
        strips=(
            StripFigure(Place(5, 0, 400, 30), "Ring 1, 12"),
            StripFigure(Place(5, 32.4, 380, 30), "Ring 2, 12", lit=False),
        ),
        offcuts=(Place(408, 0, 492, 150),),
        cuts=(
            CutFigure(1, "crosscut", 405, Place(0, 0, 900, 150)),
            CutFigure(2, "rip", 30, Place(5, 0, 400, 150)),
            CutFigure(3, "rip", 62.4, Place(5, 0, 400, 150)),
        ),
        **ASH,
    )


@pytest.mark.parametrize("upright", [False, True])
def test_strips_lie_where_they_are_laid_to_scale(upright: bool) -> None:
    drawing = board_layout(_board(), upright=upright)
    board = outlines(drawing, Pen.WIDE)[-1]
    strip = next(
        path
        for path in drawing.items
        if isinstance(path, Path) and isinstance(path.fill, Paint) and path.fill.opacity == 1.0
    )
    along, across = (1, 0) if upright else (0, 1)

    def span(path: Path, axis: int) -> tuple[float, float]:
        values = [point[axis] for point in path.points]
        return min(values), max(values)

    start, end = span(board, along)
    scale = (end - start) / 900
    near, far = span(strip, along)
    assert (near - start) / scale == pytest.approx(5, abs=0.01)
    assert (far - near) / scale == pytest.approx(400, abs=0.01)
    low, high = span(strip, across)
    assert (high - low) / scale == pytest.approx(30, abs=0.01)
    assert len(outlines(drawing, Pen.CUT)) == 3
    assert "405.0" in words(drawing)
    assert "2–3" in words(drawing)


def test_tags_stay_on_the_sheet_and_apart() -> None:
    many = tuple(
        CutFigure(number, "crosscut", 880 + number, Place(0, 0, 900, 150)) for number in range(1, 8)
    )
    drawing = board_layout(BoardFigure("Board", 900, 150, cuts=many, **ASH))
    tags = [item for item in drawing.items if isinstance(item, Text) and "." in item.words]
    places = [tag.at[0] for tag in tags]
    assert all(b - a >= 77 for a, b in pairwise(places))
    assert max(places) + 50 <= drawing.width + 20
    assert min(places) > 0
