"""The templates as one PDF, each page an SVG of real size that typst only wraps."""

from collections.abc import Iterator
from datetime import datetime

from server.craft.errors import GeometryError
from server.craft.planned import Planned
from server.exports.templates.cards import card_templates, stem_templates
from server.exports.templates.ink import Template
from server.exports.templates.pages import laid_out, page_svg
from server.exports.templates.shapes import ring_templates, segment_templates
from server.exports.typeset.paper import Paper
from server.exports.typeset.press import typeset
from server.exports.words import one_line

_SOURCE = """
#let data = json(bytes(sys.inputs.data))
#set document(title: data.title)
#set page(width: data.width * 1mm, height: data.height * 1mm, margin: 0mm)
#for (number, page) in data.pages.enumerate() {
  if number > 0 { pagebreak() }
  image(bytes(page.svg), format: "svg", width: data.width * 1mm, height: data.height * 1mm,
    alt: page.title)
}
"""


def templates_pdf(planned: Planned, paper: Paper, now: datetime) -> bytes:
    """The file. GeometryError where there is nothing to draw."""
    return _pdf(planned, templates(planned), paper, now)


def stem_pdf(planned: Planned, part: str, paper: Paper, now: datetime) -> bytes:
    """The full outline of one spindle. GeometryError where the part is none."""
    return _pdf(planned, stem_templates(planned, part), paper, now)


def _pdf(planned: Planned, drawn: Iterator[Template], paper: Paper, now: datetime) -> bytes:
    size, name = paper.size, one_line(planned.piece.name, 60)
    pages = laid_out(drawn, size)
    if not pages:
        raise GeometryError("nothing-to-show", "There is nothing to cut in this drawing yet.")
    return typeset(
        _SOURCE,
        {
            "title": f"{name}: templates at full size",
            "width": size.width_mm,
            "height": size.height_mm,
            "pages": [
                {"svg": page_svg(page, size, name, i, len(pages)), "title": page.title}
                for i, page in enumerate(pages, 1)
            ],
        },
        now,
    )


def templates(planned: Planned) -> Iterator[Template]:
    """Segments first, then what is held against the turning, then whole rings."""
    yield from segment_templates(planned)
    yield from card_templates(planned)
    yield from stem_templates(planned)
    yield from ring_templates(planned)
