"""The profile as an SVG of real size: one user unit is one millimetre, and the sheet says so."""

from html import escape

from server.craft.planned import Planned
from server.exports.profile import Layer, Line, Name, ProfileSheet, profile_sheet

MARGIN_MM = 5.0
_NAMES_MM = 24.0
_LETTER_MM = 3.0

_STYLE = (
    "path{fill:none;stroke:#000;stroke-width:.25}"
    ".outside,.inside{stroke-width:.35}"
    ".rings{stroke-width:.13;stroke-dasharray:2 1}"
    ".joints,.floor{stroke-width:.18}"
    ".axis{stroke-width:.13;stroke-dasharray:6 1.5 1 1.5}"
    f"text{{font:{_LETTER_MM}px sans-serif}}"
)


def profile_svg(planned: Planned) -> str:
    """The file: right half of every part where it stands, bottom down, the axis at the left."""
    sheet = profile_sheet(planned)
    r0, z0, r1, z1 = sheet.bounds
    width, height = r1 - r0 + 2 * MARGIN_MM + _NAMES_MM, z1 - z0 + 2 * MARGIN_MM
    pen = _Pen(MARGIN_MM - r0, z1 + MARGIN_MM)
    size = f'width="{_n(width)}mm" height="{_n(height)}mm" viewBox="0 0 {_n(width)} {_n(height)}"'
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {size}>\n'
        f"<title>{escape(sheet.name)}: profile, in millimetres</title>\n"
        f"<style>{_STYLE}</style>\n{_parts(sheet, pen)}{pen.path(sheet.axis)}</svg>\n"
    )


class _Pen:
    """Puts r and z on the sheet, where down is more."""

    def __init__(self, right: float, down: float) -> None:
        self.right, self.down = right, down

    def at(self, r: float, z: float) -> str:
        return f"{_n(r + self.right)} {_n(self.down - z)}"

    def path(self, line: Line) -> str:
        """Bézier spans as they are; chords as lines."""
        steps = [f"M{self.at(*line.spans[0, 0])}"]
        for span, straight in zip(line.spans.tolist(), line.straight.tolist(), strict=True):
            if straight:
                steps.append(f"L{self.at(*span[3])}")
            else:
                steps.append("C" + " ".join(self.at(*point) for point in span[1:]))
        end = "Z" if line.closed else ""
        return f'<path class="{line.layer.lower()}" d="{"".join(steps)}{end}"/>\n'

    def name(self, name: Name) -> str:
        x, y = _n(name.r_mm + self.right + 1.5), _n(self.down - name.z_mm + _LETTER_MM / 3)
        return f'<text class="{Layer.NAMES.lower()}" x="{x}" y="{y}">{escape(name.words)}</text>\n'


def _parts(sheet: ProfileSheet, pen: _Pen) -> str:
    groups = []
    for number, part in enumerate(sheet.parts, 1):
        inside = "".join(pen.path(line) for line in part.lines)
        names = "".join(pen.name(name) for name in part.names)
        groups.append(
            f'<g id="part-{number}"><title>{escape(part.title)}</title>\n{inside}{names}</g>\n'
        )
    return "".join(groups)


def _n(value: float) -> str:
    """To a ten-thousandth of a millimetre."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
