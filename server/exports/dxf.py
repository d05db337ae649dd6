"""The profile as DXF in millimetres, a layer for each kind of line, curves as fine polylines.

Polylines are read by every program that reads DXF at all; splines are not.
"""

import io
from collections.abc import Iterable
from typing import Any

import numpy as np

from server.craft.form.slopes import Floats
from server.craft.planned import Planned
from server.exports.profile import Layer, Line, profile_sheet

SAGITTA_MM = 0.005
"""Chords stray from the curve by no more."""

_VERSION = "R2010"
_MILLIMETRES = 4
_METRIC = 1
_LETTER_MM = 3.0
_COLOURS = {
    Layer.OUTSIDE: 7,
    Layer.INSIDE: 5,
    Layer.FLOOR: 5,
    Layer.RINGS: 8,
    Layer.JOINTS: 3,
    Layer.AXIS: 1,
    Layer.NAMES: 8,
}


def profile_dxf(planned: Planned) -> bytes:
    """The file: right half of every part where it stands; x is the radius, y the height."""
    # Loaded when asked for: it is large.
    import ezdxf

    sheet = profile_sheet(planned)
    document: Any = ezdxf.new(_VERSION)  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = _MILLIMETRES
    document.header["$MEASUREMENT"] = _METRIC
    for layer, colour in _COLOURS.items():
        document.layers.add(str(layer), color=colour)
    space = document.modelspace()
    lines = [line for part in sheet.parts for line in part.lines]
    for line in (*lines, sheet.axis):
        space.add_lwpolyline(
            chords(line).tolist(), close=line.closed, dxfattribs={"layer": str(line.layer)}
        )
    for name in (name for part in sheet.parts for name in part.names):
        attributes = {"layer": str(Layer.NAMES), "height": _LETTER_MM}
        text = space.add_text(_plain(name.words), dxfattribs=attributes)
        text.set_placement((name.r_mm + 1.5, name.z_mm - _LETTER_MM / 3))
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode("utf-8", "replace")


def chords(line: Line) -> Floats:
    """Points along the line, no chord of which strays by more than `SAGITTA_MM`."""
    bend = np.abs(np.diff(line.spans, n=2, axis=1)).max(axis=1)
    # A cubic's second derivative is at most six times its second differences.
    steps = np.ceil(np.sqrt(6 * np.hypot(bend[:, 0], bend[:, 1]) / 8 / SAGITTA_MM))
    steps = np.where(line.straight, 1, np.maximum(steps, 1)).astype(int)
    points = [_along(span, count) for span, count in zip(line.spans, steps, strict=True)]
    last = [] if line.closed else [line.spans[-1:, 3]]
    return np.concatenate([*points, *last])


def _along(span: Floats, steps: int) -> Floats:
    t = np.arange(steps)[:, None] / steps
    u = 1 - t
    p0, p1, p2, p3 = span
    points: Floats = u**3 * p0 + 3 * u * t * (u * p1 + t * p2) + t**3 * p3
    return points


def _plain(words: str) -> str:
    """Text without what DXF reads as a command: %% codes, ^ carets, \\U+ and other escapes."""
    return "".join(_kept(words))


def _kept(words: str) -> Iterable[str]:
    for mark in words:
        yield {"%": "％", "^": "ˆ", "\\": "/"}.get(mark, mark)
