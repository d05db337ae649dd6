"""Cards to hold against the turning, and the full outline of what is turned from one solid."""

from collections.abc import Iterator, Sequence

import numpy as np

from server.craft.form.curves import Curve
from server.craft.form.slopes import Floats
from server.craft.planned import Planned
from server.craft.worked.piece import WorkedPart
from server.exports.templates.ink import Pen, Template
from server.exports.templates.said import size
from server.exports.templates.shapes import LINE_MM
from server.exports.words import one_line

SAGITTA_MM = 0.005
_BACK_MM = 25.0
"""How much card stands behind the edge that touches the wood."""

_EDGE_MM = 3.0
_TICK_MM = 4.0
_LEAST_WIDTH_MM = 84.0


def card_templates(planned: Planned) -> Iterator[Template]:
    """For each ringed part a card of its outside and one of its inside."""
    for part in planned.work.parts:
        if part.part.kind == "spindle":
            continue
        title = one_line(part.part.title, 40)
        yield _outside_card(part, f"{title}: card for the outside")
        if part.inside is not None:
            yield _inside_card(part, part.inside, f"{title}: card for the inside")


def stem_templates(planned: Planned, only: str | None = None) -> Iterator[Template]:
    """The full outline of each spindle with its tenons and its diameters, or of one alone."""
    for part in planned.work.parts:
        if part.part.kind == "spindle" and only in (None, part.id):
            yield _stem(planned, part)


def _outside_card(part: WorkedPart, title: str) -> Template:
    """The wood lies to the left of the edge, the card to the right of it."""
    line = part.outside.polyline_within(SAGITTA_MM)
    near, _, far, _ = part.outside.bounds
    drawn, place = _sheet(title, line, near, far + _BACK_MM)
    edge = place(line)
    back = float(place(np.array([[far + _BACK_MM, 0.0]]))[0, 0])
    drawn.line([edge[0], (back, edge[0, 1]), (back, edge[-1, 1]), edge[-1]], Pen.THIN)
    drawn.line(edge, Pen.CUT)
    _ticks(drawn, part, part.outside, place, 1)
    return drawn


def _inside_card(part: WorkedPart, inside: Curve, title: str) -> Template:
    """The card fills the hollow from the axis to the inside."""
    line = inside.polyline_within(SAGITTA_MM)
    drawn, place = _sheet(title, line, 0.0, inside.bounds[2])
    edge = place(line)
    axis = float(place(np.zeros((1, 2)))[0, 0])
    drawn.line([edge[-1], (axis, edge[-1, 1]), (axis, edge[0, 1]), edge[0]], Pen.THIN)
    drawn.line([(axis, edge[:, 1].min()), (axis, edge[:, 1].max())], Pen.AXIS)
    drawn.line(edge, Pen.CUT)
    _ticks(drawn, part, inside, place, -1)
    return drawn


class _Place:
    """Puts (r, z) on the sheet, z up."""

    def __init__(self, right: float, down: float) -> None:
        self.right, self.down = right, down

    def __call__(self, line: Floats) -> Floats:
        return np.stack([line[:, 0] + self.right, self.down - line[:, 1]], axis=1)


def _sheet(
    title: str, line: Floats, near: float, far: float, *more: str
) -> tuple[Template, _Place]:
    """A sheet for the line, with its title and what `more` there is to say below it."""
    low, high = float(line[:, 1].min()), float(line[:, 1].max())
    width = max(far - near + 2 * _EDGE_MM, _LEAST_WIDTH_MM)
    told = (title, *more)
    drawn = Template(title, width, high - low + len(told) * LINE_MM + 2 * _EDGE_MM)
    for number, words in enumerate(told, start=1):
        drawn.say((_EDGE_MM, high - low + _EDGE_MM + number * LINE_MM), words)
    return drawn, _Place(_EDGE_MM - near, high + _EDGE_MM)


def _ticks(drawn: Template, part: WorkedPart, curve: Curve, place: _Place, side: int) -> None:
    """A short line on the card at each glue plane, with the number of the ring above it."""
    for number, ring in enumerate(part.rings, start=1):
        radii = curve.radii_at(ring.z_bottom_mm)
        if not radii:
            continue
        (x, y) = place(np.array([[radii[-1] if side > 0 else radii[0], ring.z_bottom_mm]]))[0]
        drawn.line([(x, y), (x + side * _TICK_MM, y)], Pen.MARK)
        anchor = "start" if side > 0 else "end"
        drawn.say((x + side * (_TICK_MM + 1), y - 1), str(number), 2.6, anchor=anchor)


def _stem(planned: Planned, part: WorkedPart) -> Template:
    line = part.outside.polyline_within(SAGITTA_MM)
    reach = part.outside.bounds[2]
    tenons = {
        joint.tenon.end: joint for joint in planned.piece.joints if joint.tenon.part == part.id
    }
    below = tenons["bottom"].depth_mm if "bottom" in tenons else 0.0
    above = tenons["top"].depth_mm if "top" in tenons else 0.0
    title = f"{one_line(part.part.title, 40)}: full outline, both sides"
    room = np.array([[0.0, part.z0_mm - below], [0.0, part.z1_mm + above]])
    units = planned.piece.display_units
    long = f"{size(part.height_mm, units)} long"
    if tenons:
        whole = size(part.height_mm + below + above, units)
        ends = "its tenons" if len(tenons) > 1 else "its tenon"
        long = f"{long} between its ends, {whole} with {ends}"
    drawn, place = _sheet(title, room, -reach, reach + 52.0, long)
    mirrored = line * np.array([-1.0, 1.0])
    drawn.line(np.concatenate([place(line), place(mirrored)[::-1]]), Pen.CUT, closed=True)
    for end, joint in tenons.items():
        foot = part.z1_mm if end == "top" else part.z0_mm
        tip = foot + (joint.depth_mm if end == "top" else -joint.depth_mm)
        half = joint.diameter_mm / 2
        drawn.line(
            place(np.array([[-half, foot], [-half, tip], [half, tip], [half, foot]])), Pen.CUT
        )
        told = f"Ø {size(joint.diameter_mm, units)}, {size(joint.depth_mm, units)} long"
        _beside(drawn, place(np.array([[half, (foot + tip) / 2]]))[0], told)
    drawn.line(place(room), Pen.AXIS)
    _diameters(planned, drawn, part, place)
    return drawn


def _diameters(planned: Planned, drawn: Template, part: WorkedPart, place: _Place) -> None:
    last = np.inf
    for point in part.outside.points:
        x, y = place(np.array([[point.r_mm, point.z_mm]]))[0]
        if abs(last - y) < LINE_MM:
            continue
        last = y
        told = f"Ø {size(2 * point.r_mm, planned.piece.display_units)}"
        _beside(drawn, (x, y), told)


def _beside(drawn: Template, at: Sequence[float], words: str) -> None:
    x, y = at
    drawn.line([(x, y), (x + _TICK_MM, y)], Pen.MARK)
    drawn.say((x + _TICK_MM + 1, y + 1), words, 2.8)
