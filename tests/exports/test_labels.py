"""Labels: real size, many on a sheet, and a code that a telephone reads."""

import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime

import pytest
import segno
from exports_pieces import NASTY_NAMES, goblet, worked
from pdf_reader import sizes_mm, words

from server.exports.labels import (
    LABEL_HEIGHT_MM,
    LABEL_WIDTH_MM,
    MOST_LABELS,
    Label,
    board_label,
    label_svg,
    labels_pdf,
    segment_labels,
)
from server.exports.typeset.paper import Paper

NOW = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)
SVG = "{http://www.w3.org/2000/svg}"


def test_a_label_is_of_real_size() -> None:
    root = ET.fromstring(label_svg(Label("b1", ("12 × sapele",))))
    assert root.get("width") == f"{LABEL_WIDTH_MM:g}mm"
    assert root.get("height") == f"{LABEL_HEIGHT_MM:g}mm"
    assert [text.text for text in root.iter(f"{SVG}text")] == ["b1", "12 × sapele"]


def test_every_strip_has_one() -> None:
    labels = segment_labels(worked(goblet()))
    assert [label.head for label in labels][:3] == ["Bowl ring 1", "Bowl ring 2", "Bowl ring 3"]
    assert labels[0].lines[1] == "Mitre 15.00°"


def test_the_code_has_the_dark_squares_of_its_address() -> None:
    address = "http://192.0.2.7:8377/pieces/orchard-goblet"
    root = ET.fromstring(label_svg(Label("b1", (), address)))
    path = next(p for p in root.iter(f"{SVG}path") if p.get("class") == "code")
    drawn = set()
    for x, y, wide in re.findall(r"M(\d+) (\d+)h(\d+)", path.get("d", "")):
        drawn |= {(int(y) - 2, int(x) - 2 + k) for k in range(int(wide))}
    matrix = segno.make(address, micro=False, error="m").matrix
    true = {(r, c) for r, row in enumerate(matrix) for c, dark in enumerate(row) if dark}
    assert drawn == true


def test_sheets_of_labels() -> None:
    labels = [board_label(f"Board {i}", "sapele", (20, 100, 900), "mm") for i in range(30)]
    content = labels_pdf(labels, Paper.A4, NOW)
    # Three across and eight down.
    assert len(sizes_mm(content)) == 2
    text = " ".join(words(content))
    assert all(f"Board {i}" in text for i in range(30))
    assert "20.0 mm (25/32″)" in text


def test_too_many_labels_are_counted_on_the_last() -> None:
    content = labels_pdf([Label(f"n{i}") for i in range(MOST_LABELS + 5)], Paper.A4, NOW)
    pages = words(content)
    assert len(pages) == -(-MOST_LABELS // 24)
    assert "6 labels are not printed here" in " ".join(pages[-1].split())


def test_no_labels_are_an_empty_sheet() -> None:
    assert len(sizes_mm(labels_pdf([], Paper.LETTER, NOW))) == 1


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_harmless(name: str) -> None:
    root = ET.fromstring(label_svg(Label(name, (name, name), "http://192.0.2.7/")))
    assert {element.tag for element in root.iter()} == {
        f"{SVG}{tag}" for tag in ("svg", "style", "rect", "text", "path")
    }
    assert len(labels_pdf([Label(name, (name,))], Paper.A4, NOW)) > 1000
