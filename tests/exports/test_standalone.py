"""A drawing that stands by itself: black on white, nothing of the pages in it."""

import re
import xml.etree.ElementTree as ET

from exports_pieces import every_kind, worked

from server.exports.drawing import Drawing, Paint, Path, Pen, Sign, Tone, Wash
from server.exports.pictures.section import Marks, section_elevation
from server.exports.standalone import grey, standalone_svg


def test_colours_become_greys() -> None:
    assert grey("#ffffff") == "#ffffff"
    assert grey("#000000") == "#969696"
    assert grey("#ff0000") < grey("#00ff00")
    planned = worked(every_kind())
    svg = standalone_svg(section_elevation(planned, Marks(), width=540, height=760))
    ET.fromstring(svg)
    colours = set(re.findall(r"#[0-9a-f]{6}", svg))
    assert colours
    assert all(c[1:3] == c[3:5] == c[5:7] for c in colours)


def test_what_belongs_to_the_pages_is_left_out() -> None:
    drawing = Drawing(100, 50, "A drawing & more")
    square = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0))
    drawing.add(Path(square, Pen.NONE, Wash("wash-o3"), True), Sign((0, 0), "stop"))
    drawing.add(
        Path(square, Pen.NONE, Tone.HIT, True), Path(square, Pen.WIDE, Paint("#804020"), True)
    )
    drawing.add(Path(square, Pen.WIDE, Wash("wash-o3"), True))
    root = ET.fromstring(standalone_svg(drawing))
    kinds = [element.tag.rpartition("}")[2] for element in root.iter()]
    assert kinds == ["svg", "title", "style", "path", "path"]
    assert "url(" not in standalone_svg(drawing)


def test_every_class_that_is_drawn_has_a_look() -> None:
    planned = worked(every_kind())
    svg = standalone_svg(section_elevation(planned, Marks(), width=540, height=760))
    style = svg[svg.index("<style>") : svg.index("</style>")]
    used = {name for names in re.findall(r'class="([^"]*)"', svg) for name in names.split()}
    assert used
    assert all(f".{name}" in style for name in used), used
