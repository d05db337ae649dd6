"""A ring as it lies in the box: seen from above, every segment in its wood."""

import math
from dataclasses import dataclass

from server.exports.drawing import Drawing, Paint, Pen

_EDGE = 3.0


@dataclass(frozen=True, slots=True)
class RingFigure:
    """Radii in mm; `colours` are the woods in turn, as #rrggbb."""

    title: str
    segments: int
    outside_mm: float
    inside_mm: float
    colours: tuple[str, ...]


def lying_ring(figure: RingFigure, scale: float, size: float) -> Drawing:
    """The ring in a square sheet of this size; `scale` in sheet units per mm."""
    drawing = Drawing(size, size, figure.title)
    centre, step = size / 2, 2 * math.pi / figure.segments
    outer = min(figure.outside_mm * scale, size / 2 - _EDGE)
    inner = figure.inside_mm / figure.outside_mm * outer
    for number in range(figure.segments):
        points = []
        for radius, angle in ((outer, 0.0), (outer, step), (inner, step), (inner, 0.0)):
            turn = number * step + angle
            points.append((centre + radius * math.sin(turn), centre - radius * math.cos(turn)))
        colour = figure.colours[number % len(figure.colours)]
        drawing.area(points, Paint(colour), Pen.THIN_INK)
    return drawing
