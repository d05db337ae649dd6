"""Labels for what lies about in a shop: offcuts, strips, spare rings, bags of segments.

Each says what it is in large letters and carries a code that leads to its page. Sizes are mm.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from html import escape

from server.craft.planned import Planned
from server.craft.results import StripRow
from server.craft.units import Units
from server.exports.ring_names import cut_names
from server.exports.templates.ink import n
from server.exports.templates.said import angle, size
from server.exports.typeset.paper import MARGIN_MM, Paper
from server.exports.typeset.press import typeset
from server.exports.words import one_line

LABEL_WIDTH_MM, LABEL_HEIGHT_MM = 62.0, 34.0
MOST_LABELS = 2000
"""More than anybody cuts out; the last label says how many more there would be."""

_PAD_MM = 2.5
_CODE_MM = 18.0
_QUIET = 2
_HEAD_MM, _LINE_MM = 6.4, 3.2
_LETTER = 0.48
"""Width of a letter of the average line, as a share of its size."""

_MOST_LINES = 5

_STYLE = (
    "text{font-family:National Park,sans-serif;fill:#000}.head{font-weight:700}"
    ".cut{fill:none;stroke:#000;stroke-width:.15;stroke-dasharray:1 1}.code{fill:#000}"
)
_SOURCE = """
#let data = json(bytes(sys.inputs.data))
#set document(title: data.title)
#set page(width: data.width * 1mm, height: data.height * 1mm, margin: 0mm)
#for (number, page) in data.pages.enumerate() {
  if number > 0 { pagebreak() }
  image(bytes(page), format: "svg", width: data.width * 1mm, height: data.height * 1mm,
    alt: data.title)
}
"""


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label; `address` is what its code says, none without one."""

    head: str
    lines: tuple[str, ...] = ()
    address: str | None = None


def segment_labels(planned: Planned, address: str | None = None) -> list[Label]:
    """A label for the bag of each strip's segments."""
    names = cut_names(planned)
    return [
        _segments(planned, strip, names[strip.ring or strip.part], address)
        for strip in planned.strips
    ]


def _segments(planned: Planned, strip: StripRow, head: str, address: str | None) -> Label:
    wood = planned.woods.get(strip.wood)
    units = planned.piece.display_units
    name = wood.name if wood else strip.wood
    mitre = [f"Mitre {angle(strip.mitre_deg)}"] if strip.mitre_deg else []
    lines = [
        f"{strip.count} × {name}",
        *mitre,
        f"Wide {size(strip.width_mm, units)}",
        f"Edge {size(strip.outer_edge_mm, units)}",
        planned.piece.name,
    ]
    return Label(head, tuple(lines), address)


def board_label(
    name: str,
    wood: str,
    sizes_mm: Sequence[float],
    units: Units,
    address: str | None = None,
    note: str = "",
) -> Label:
    """A label for a board, strip or offcut of the rack: thickness, width, length."""
    lines = (wood, *(size(length, units) for length in sizes_mm), note)
    return Label(name, tuple(line for line in lines if line), address)


def label_svg(label: Label) -> str:
    """One label of real size."""
    return _sheet(_label(label), LABEL_WIDTH_MM, LABEL_HEIGHT_MM)


def labels_pdf(labels: Iterable[Label], paper: Paper, now: datetime) -> bytes:
    """Labels side by side on sheets, with lines to cut along."""
    size_mm = paper.size
    across = int(size_mm.free_width_mm // LABEL_WIDTH_MM)
    down = int(size_mm.free_height_mm // LABEL_HEIGHT_MM)
    every = _at_most(list(labels))
    pages = [
        _sheet(_page(every[i : i + across * down], across), size_mm.width_mm, size_mm.height_mm)
        for i in range(0, max(len(every), 1), across * down)
    ]
    data = {
        "title": "Labels",
        "width": size_mm.width_mm,
        "height": size_mm.height_mm,
        "pages": pages,
    }
    return typeset(_SOURCE, data, now)


def _at_most(labels: list[Label]) -> list[Label]:
    if len(labels) <= MOST_LABELS:
        return labels
    rest = Label("And more", (f"{len(labels) - MOST_LABELS + 1} labels are not printed here.",))
    return [*labels[: MOST_LABELS - 1], rest]


def _page(labels: Sequence[Label], across: int) -> str:
    body = []
    for place, label in enumerate(labels):
        x = MARGIN_MM + place % across * LABEL_WIDTH_MM
        y = MARGIN_MM + place // across * LABEL_HEIGHT_MM
        body.append(f'<g transform="translate({n(x)} {n(y)})">{_label(label)}</g>')
    return "".join(body)


def _sheet(body: str, width: float, height: float) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{n(width)}mm" height="{n(height)}mm" '
        f'viewBox="0 0 {n(width)} {n(height)}"><style>{_STYLE}</style>{body}</svg>'
    )


def _label(label: Label) -> str:
    return "".join(_marks(label))


def _marks(label: Label) -> Iterator[str]:
    yield f'<rect class="cut" width="{n(LABEL_WIDTH_MM)}" height="{n(LABEL_HEIGHT_MM)}"/>'
    room = LABEL_WIDTH_MM - 2 * _PAD_MM - (_CODE_MM + 1 if label.address else 0)
    y = _PAD_MM + _HEAD_MM * 0.8
    yield _text(label.head, y, _HEAD_MM, room, "head")
    for line in label.lines[:_MOST_LINES]:
        y += _LINE_MM * 1.4
        yield _text(line, y, _LINE_MM, room, "line")
    if label.address:
        corner = (LABEL_WIDTH_MM - _PAD_MM - _CODE_MM, LABEL_HEIGHT_MM - _PAD_MM - _CODE_MM)
        yield _code(label.address, corner)


def _text(words: str, y: float, size_mm: float, room_mm: float, kind: str) -> str:
    """A line, shortened where it would not fit."""
    line = one_line(words, max(1, int(room_mm / size_mm / _LETTER)))
    place = f'x="{n(_PAD_MM)}" y="{n(y)}" font-size="{n(size_mm)}"'
    return f'<text class="{kind}" {place}>{escape(line)}</text>'


def _code(address: str, corner: tuple[float, float]) -> str:
    """A QR code (ISO/IEC 18004) as one path, dark squares a unit wide."""
    import segno

    code = segno.make(address, micro=False, error="m")
    whole = code.symbol_size(border=_QUIET)[0]
    scale = _CODE_MM / whole
    x, y = corner
    place = f"translate({n(x)} {n(y)}) scale({scale:.6f})"
    rows = "".join(_dark(code.matrix))
    return f'<path class="code" transform="{place}" d="{rows}"/>'


def _dark(matrix: Iterable[bytearray]) -> Iterator[str]:
    for row, cells in enumerate(matrix):
        start: int | None = None
        for column, dark in enumerate([*cells, 0]):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                yield f"M{start + _QUIET} {row + _QUIET}h{column - start}v1h-{column - start}z"
                start = None
