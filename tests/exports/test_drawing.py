"""Shop-drawing primitives: arrowheads and dimension lines as ISO 129-1 draws them."""

import itertools
import math
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.exports.dimensions import (
    arrowhead,
    dimension_across,
    dimension_upright,
    spread,
)
from server.exports.drawing import Drawing, Letter, Paint, Path, Pen, Text, Tone, Wash
from server.exports.svg import number, to_svg


def test_an_arrowhead_encloses_fifteen_degrees_and_touches_with_its_tip() -> None:
    tip, left, right = arrowhead((10.0, 20.0), 0).points
    assert tip == (10.0, 20.0)
    a = math.degrees(math.atan2(left[1] - tip[1], tip[0] - left[0]))
    b = math.degrees(math.atan2(right[1] - tip[1], tip[0] - right[0]))
    assert abs(a - b) == pytest.approx(15.0, abs=1e-9)


def test_a_dimension_reaches_from_line_to_line_with_its_figure_above() -> None:
    sheet = Drawing(200, 100, "A length")
    dimension_across(sheet, 20, 180, 30, "160", from_y=(60, 60))
    tips = [i.points[0] for i in sheet.items if isinstance(i, Path) and i.fill is Tone.ARROW]
    assert tips == [(20, 30), (180, 30)]
    words = [i for i in sheet.items if isinstance(i, Text)]
    assert words[0].words == "160"
    assert words[0].at[0] == 100
    assert words[0].at[1] < 30
    extension = next(i for i in sheet.items if isinstance(i, Path) and i.pen is Pen.NARROW)
    assert extension.points == ((20, 56), (20, 23))  # a gap at the body, a little over the line


def test_a_short_dimension_is_pointed_at_from_outside() -> None:
    sheet = Drawing(200, 100, "A short length")
    dimension_across(sheet, 100, 110, 30, "10")
    first = next(i for i in sheet.items if isinstance(i, Path) and i.fill is Tone.ARROW)
    assert first.points[1][0] < 100


def test_an_upright_figure_is_read_from_the_right() -> None:
    sheet = Drawing(100, 200, "A height")
    dimension_upright(sheet, 20, 180, 50, "160")
    words = next(i for i in sheet.items if isinstance(i, Text))
    assert words.turned
    assert words.at[0] < 50


@given(st.lists(st.floats(0, 500), max_size=30), st.floats(1, 40))
def test_labels_are_apart_and_keep_their_order(wanted: list[float], least: float) -> None:
    placed = spread(wanted, least)
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    gaps = [placed[b] - placed[a] for a, b in itertools.pairwise(order)]
    assert all(gap >= least - 1e-6 for gap in gaps)
    if wanted:
        assert sum(placed) == pytest.approx(sum(wanted), abs=1e-6)


def test_labels_with_room_stay_where_they_are() -> None:
    assert spread([10, 90, 50], 20) == [10, 90, 50]


@pytest.mark.parametrize(
    ("value", "text"), [(1.0, "1"), (-0.04, "0"), (2.26, "2.3"), (-3.14159, "-3.1")]
)
def test_coordinates_are_short(value: float, text: str) -> None:
    assert number(value) == text


def test_svg_is_well_formed_and_holds_no_style() -> None:
    sheet = Drawing(100, 80, 'A "ring" <1> & more')
    square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    sheet.area(square, Paint("#84432c", 0.5), Pen.JOINT, "#5a2a1a", (("ring", 'b"1'),))
    sheet.area(square, Wash("wash-o3"))
    sheet.text((5, 5), "<script>", Letter.FAULT, turned=True)
    text = str(to_svg(sheet))
    root = ElementTree.fromstring(text)
    assert root.attrib["aria-label"] == 'A "ring" <1> & more'
    assert root[0].attrib["data-ring"] == 'b"1'
    assert root[0].attrib["fill"] == "#84432c"
    assert root[2].text == "<script>"
    assert "style" not in text
