"""Templates: a millimetre on paper is a millimetre, measured on the printed page."""

import itertools
import math
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from exports_pieces import NASTY_NAMES, every_kind, goblet, small_pieces, vessel, worked
from hypothesis import HealthCheck, given, settings
from pdf_reader import MM_PER_DOT, ink, needs_poppler, runs_mm, sizes_mm, words

from server.exports.templates.cards import stem_templates
from server.exports.templates.ink import Pen, Template, circle
from server.exports.templates.pages import MOST_PAGES, OVERLAP_MM, laid_out, window
from server.exports.templates.pdf import templates, templates_pdf
from server.exports.templates.shapes import ring_templates, segment_templates
from server.exports.typeset.paper import MARGIN_MM, Paper, paper_for

NOW = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)
CLOSE_MM = 2 * MM_PER_DOT
"""A dot at either end."""

poppler = pytest.mark.skipif(needs_poppler, reason="pdftoppm is not installed here")


def _stem(height_mm: float, radius_mm: float) -> dict[str, Any]:
    points = [
        {"r_mm": radius_mm, "z_mm": 0, "corner": True},
        {"r_mm": radius_mm, "z_mm": height_mm, "corner": True},
    ]
    part = {"id": "stem", "kind": "spindle", "outside": {"points": points}}
    return {"format": "ringwright.piece", "version": 1, "name": "Stem", "parts": [part]}


def _edges(page: np.ndarray, *, across: bool, at_mm: float) -> list[float]:
    """Middles of the lines that a straight line across (or down) the page meets, mm."""
    row = round(at_mm / MM_PER_DOT)
    line = page[row] if across else page[:, row]
    return [(a + b) / 2 for a, b in runs_mm(line)]


@poppler
@pytest.mark.parametrize("paper", list(Paper))
def test_150_mm_are_150_mm(paper: Paper, tmp_path: Path) -> None:
    page = ink(templates_pdf(worked(_stem(150, 25)), paper, NOW), 1, tmp_path)
    # A little beside the left side of the stem, where only its two ends are met.
    left = MARGIN_MM + 3 + 5
    ends = _edges(page, across=False, at_mm=left)
    apart = [b - a for a, b in itertools.combinations(ends, 2)]
    assert any(abs(distance - 150) <= CLOSE_MM for distance in apart), ends
    sides = _edges(page, across=True, at_mm=MARGIN_MM + 9 + 3 + 40)
    wide = [b - a for a, b in itertools.combinations(sides, 2)]
    assert any(abs(distance - 50) <= CLOSE_MM for distance in wide), sides


@poppler
@pytest.mark.parametrize("paper", list(Paper))
def test_the_bars_to_measure_are_true_on_every_page(paper: Paper, tmp_path: Path) -> None:
    content = templates_pdf(worked(goblet()), paper, NOW)
    foot = paper.size.height_mm - MARGIN_MM
    for number in range(1, len(sizes_mm(content)) + 1):
        page = ink(content, number, tmp_path)
        for bar_mm, y in ((50.0, foot - 8.75), (50.8, foot - 2.75)):
            start, end = runs_mm(page[round(y / MM_PER_DOT)])[0]
            assert end - start == pytest.approx(bar_mm, abs=CLOSE_MM)
            assert start == pytest.approx(MARGIN_MM, abs=CLOSE_MM)


@poppler
def test_nothing_is_printed_where_printers_leave_off(tmp_path: Path) -> None:
    content = templates_pdf(worked(_stem(400, 130)), Paper.A4, NOW)
    for number in range(1, len(sizes_mm(content)) + 1):
        page = ink(content, number, tmp_path)
        edge = int((MARGIN_MM - 0.3) / MM_PER_DOT)
        assert not page[:edge].any()
        assert not page[-edge:].any()
        assert not page[:, :edge].any()
        assert not page[:, -edge:].any()


@poppler
def test_a_long_line_goes_on_where_the_last_tile_left_it(tmp_path: Path) -> None:
    height = 400.0
    content = templates_pdf(worked(_stem(height, 25)), Paper.A4, NOW)
    tiles = len(sizes_mm(content))
    assert tiles == 2
    shown = window(Paper.A4.size)[1]
    left = MARGIN_MM + 3 + 5
    first = _edges(ink(content, 1, tmp_path), across=False, at_mm=left)
    second = _edges(ink(content, 2, tmp_path), across=False, at_mm=left)
    top = MARGIN_MM + 9
    # Each page's place in the drawing: the second begins an overlap before the first's end.
    down = [y - top for y in first] + [y - top + shown - OVERLAP_MM for y in second]
    apart = [b - a for a, b in itertools.combinations(down, 2)]
    assert any(abs(distance - height) <= CLOSE_MM for distance in apart)


def test_the_size_of_paper_follows_the_units_or_the_wish() -> None:
    assert paper_for("in") is Paper.LETTER
    assert paper_for("mm") is Paper.A4
    assert paper_for("in", Paper.A4) is Paper.A4
    content = templates_pdf(worked(goblet()), Paper.LETTER, NOW)
    assert sizes_mm(content)[0] == pytest.approx((215.9, 279.4), abs=0.01)
    content = templates_pdf(worked(goblet()), Paper.A4, NOW)
    assert sizes_mm(content)[0] == pytest.approx((210, 297), abs=0.01)


def test_every_page_says_at_what_scale_to_print() -> None:
    pages = words(templates_pdf(worked(every_kind()), Paper.A4, NOW))
    assert len(pages) > 3
    for number, page in enumerate(pages, 1):
        assert "Print at 100 %" in page
        assert "50 mm" in page
        assert "2 in" in page
        assert f"{number} / {len(pages)}" in page


def test_a_segment_has_the_sizes_of_the_plan() -> None:
    rings = [{"id": "a", "thickness_mm": 20, "segments": 12}, {"id": "b", "thickness_mm": 20}]
    document = vessel(rings, allowance={"outside_mm": 0, "inside_mm": 0})
    planned = worked(document)
    shape = planned.work.by_ring["b"].flat
    assert shape is not None
    drawn = [t for t in segment_templates(planned) if t.title == "Segment, body ring 2"]
    assert len(drawn) == 1
    corners = drawn[0].strokes[0].points
    top, bottom = corners[1] - corners[0], corners[2] - corners[3]
    sawn = shape.segments[0]
    assert np.hypot(*top) == pytest.approx(sawn.inner_edge_mm)
    assert np.hypot(*bottom) == pytest.approx(sawn.outer_edge_mm)
    assert corners[2, 1] - corners[1, 1] == pytest.approx(sawn.width_mm)
    side = corners[2] - corners[1]
    # The side leans by the mitre, 180°/12.
    assert math.degrees(math.atan2(side[0], side[1])) == pytest.approx(15)


def test_segments_that_are_alike_are_drawn_once() -> None:
    rings = [
        {"id": "a", "thickness_mm": 20},
        {"id": "b", "thickness_mm": 20, "shares": [2, 1] * 6},
    ]
    titles = [t.title for t in segment_templates(worked(vessel(rings)))]
    assert titles == ["Segment, body ring 1", "Segment, body ring 2", "Segment, body ring 2"]
    straight = _stem(40, 50)
    straight["parts"][0] |= {
        "kind": "ringed",
        "rings": [{"id": "a", "thickness_mm": 20}, {"id": "b", "thickness_mm": 20}],
    }
    drawn = list(segment_templates(worked(straight)))
    assert [t.title for t in drawn] == ["Segment, stem rings 1, 2"]
    assert drawn[0].words[0].text == "Segment, stem rings 1, 2: 24"


def test_a_ring_is_drawn_as_seen_from_above() -> None:
    straight = _stem(20, 50)
    straight["parts"][0] |= {
        "kind": "ringed",
        "rings": [{"id": "a", "thickness_mm": 20, "segments": 4, "phase": 0.5}],
    }
    drawn = next(iter(ring_templates(worked(straight))))
    mark = drawn.strokes[4]
    assert mark.pen is Pen.MARK
    start, end = mark.points
    # Half of 90°, counter-clockwise from the right: up and to the right on paper.
    assert end - start == pytest.approx([5 * math.cos(math.pi / 4), -5 * math.sin(math.pi / 4)])


def test_a_stem_says_its_length_and_its_tenons() -> None:
    # The contract's goblet: 90 mm high, one tenon of 12.7 by 20 mm.
    (stem,) = stem_templates(worked({**goblet(), "display_units": "mm"}))
    said = [word.text for word in stem.words]
    assert "90.0 mm (3 35/64″) long between its ends, 110.0 mm (4 21/64″) with its tenon" in said
    assert "Ø 12.7 mm (1/2″), 20.0 mm (25/32″) long" in said
    (plain,) = stem_templates(worked(_stem(40, 20)))
    assert "40.0 mm (1 37/64″) long" in [word.text for word in plain.words]


def test_a_circle_strays_no_more_than_said() -> None:
    points = circle((0, 0), 100, 0.005)
    middles = (points + np.roll(points, 1, axis=0)) / 2
    assert np.hypot(*points.T) == pytest.approx(100)
    assert 100 - np.hypot(*middles.T).min() <= 0.005


def test_blank_tiles_are_left_out() -> None:
    size = Paper.A4.size
    width, height = window(size)
    big = Template("big", 3 * width, 3 * height)
    big.line([(1, 1), (10, 10)], Pen.CUT)
    pages = laid_out([big], size)
    assert len(pages) == 1
    assert "row 1 of 4, column 1 of 4" in pages[0].title


def test_too_many_pages_are_named_instead() -> None:
    size = Paper.A4.size
    width, height = window(size)
    many = [Template(f"number {i}", width, height) for i in range(MOST_PAGES + 50)]
    pages = laid_out(many, size)
    assert len(pages) <= MOST_PAGES + 1
    said = [w.text for w in pages[-1].words]
    assert said[0].startswith(f"{len(many) - len(pages) + 1} templates more")


def test_a_huge_piece_is_answered_within_bounds() -> None:
    rings = [{"id": f"r{i}", "thickness_mm": 5, "segments": 72} for i in range(60)]
    document = vessel(rings)
    for side in ("outside", "inside"):
        for point in document["parts"][0][side]["points"]:
            point["r_mm"] *= 40
    pages = laid_out(templates(worked(document)), Paper.A4.size)
    assert len(pages) <= MOST_PAGES + 1


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_pieces())
def test_random_pieces_have_templates(document: dict[str, Any]) -> None:
    pages = sizes_mm(templates_pdf(worked(document), Paper.A4, NOW))
    assert pages


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_harmless(name: str) -> None:
    document = goblet()
    document["name"] = document["parts"][1]["name"] = name
    plain = sizes_mm(templates_pdf(worked(goblet()), Paper.A4, NOW))
    assert sizes_mm(templates_pdf(worked(document), Paper.A4, NOW)) == plain


def test_the_same_piece_gives_the_same_file() -> None:
    one, two = (templates_pdf(worked(goblet()), Paper.A4, NOW) for _ in range(2))
    assert one == two
