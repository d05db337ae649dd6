"""A form as a small line sketch: the section at the left, the outline at the right."""

from collections.abc import Sequence

import numpy as np

from server.craft.form.curves import Curve
from server.craft.form.slopes import Floats
from server.exports.drawing import Drawing, Paint, Pen, Point

Outline = tuple[Curve, Curve | None, float]
"""Outside, inside, and the height that the part stands at in mm."""

_MARGIN = 8.0


def form_sketch(
    parts: Sequence[Outline], name: str, colour: str, width: float = 150.0, height: float = 110.0
) -> Drawing:
    """One or several parts on one axis, fitted into the sheet."""
    drawing = Drawing(width, height, name)
    lines = [_lines(*part) for part in parts]
    points = np.concatenate([outside for outside, _ in lines])
    radius, top = float(points[:, 0].max()), float(points[:, 1].max())
    scale = min((width - 2 * _MARGIN) / (2 * radius), (height - 2 * _MARGIN) / top)
    axis, base = width / 2, height - _MARGIN

    def place(line: Floats, side: int) -> list[Point]:
        return [(axis + side * float(r) * scale, base - float(z) * scale) for r, z in line]

    for outside, inside in lines:
        left = [*place(outside, -1), *place(inside, -1)]
        drawing.area(left, Paint(colour), Pen.NARROW)
        drawing.polyline(place(outside, -1) + place(inside, -1), Pen.WIDE)
        low, high = outside[0, 1], outside[-1, 1]
        right = [*place(np.array([[0.0, low]]), 1), *place(outside, 1)]
        drawing.polyline([*right, *place(np.array([[0.0, high]]), 1)], Pen.WIDE)
    drawing.line((axis, base - top * scale - 6), (axis, base + 6), Pen.AXIS)
    return drawing


def _lines(outside: Curve, inside: Curve | None, stands_at: float) -> tuple[Floats, Floats]:
    """The outside upwards, and the rest of the section down to the axis and back to the foot."""
    up = outside.polyline(16) + np.array([0.0, stands_at])
    if inside is None:
        down = np.array([[0.0, up[-1, 1]], [0.0, up[0, 1]]])
    else:
        drawn = inside.polyline(16)[::-1] + np.array([0.0, stands_at])
        down = np.concatenate([drawn, [[0.0, drawn[-1, 1]], [0.0, up[0, 1]]]])
    return up, np.concatenate([down, up[:1]])
