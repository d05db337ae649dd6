"""One segment as it leaves the saw, in two aligned views to one scale, and the ring it makes.

Dimensioned by ISO 129-1: the outer edge with its long points above, the width and the thickness
at the right, the mitre from a square cut at the left. Figures in mm.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.craft.units import format_mm
from server.exports.dimensions import arrowhead, dimension_across, dimension_upright
from server.exports.drawing import Drawing, Letter, Paint, Path, Pen, Point

WIDTH = 436.0
_PLAN_WIDTH, _PLAN_HEIGHT, _EDGE_HEIGHT = 236.0, 190.0, 96.0
_MIDDLE, _TOP, _BETWEEN, _FOOT = 204.0, 56.0, 62.0, 12.0
_INSET = (392.0, 50.0, 40.0)
_GRAIN = (0.0, 2.0, -2.5, 1.5, -1.0, 2.5)
_ARC_STEPS = 24


@dataclass(frozen=True, slots=True)
class Share:
    """One segment's place in its ring: half its angle in degrees, and whether it is meant."""

    half_angle_deg: float
    meant: bool


@dataclass(frozen=True, slots=True)
class SegmentFigure:
    """What is drawn; lengths in mm, angles in degrees. `radius_mm` is the rough outside radius.

    `finished` holds the finished outside and inside radius where they are drawn on the wood.
    """

    name: str
    outer_mm: float
    inner_mm: float
    width_mm: float
    thickness_mm: float
    mitre_deg: float
    colour: str
    grain: str
    radius_mm: float | None = None
    finished: tuple[float, ...] = ()
    ring: tuple[Share, ...] = ()


def segment_sheet(figure: SegmentFigure) -> Drawing:
    """The sheet of one segment."""
    scale = min(
        _PLAN_WIDTH / max(figure.outer_mm, figure.inner_mm),
        _PLAN_HEIGHT / figure.width_mm,
        _EDGE_HEIGHT / figure.thickness_mm,
    )
    tall, thick = figure.width_mm * scale, figure.thickness_mm * scale
    bottom = _TOP + tall
    edge_top = bottom + _BETWEEN
    drawing = Drawing(WIDTH, edge_top + thick + _FOOT, _title(figure))
    _plan(drawing, figure, scale, bottom)
    _edge(drawing, figure, scale, edge_top)
    _dimensions(drawing, figure, scale, bottom, edge_top)
    if figure.ring:
        _inset(drawing, figure)
    return drawing


def _title(figure: SegmentFigure) -> str:
    return (
        f"{figure.name}: outer edge {format_mm(figure.outer_mm)} mm, inner edge "
        f"{format_mm(figure.inner_mm)} mm, width {format_mm(figure.width_mm)} mm, mitre "
        f"{figure.mitre_deg:.4g} degrees, thickness {format_mm(figure.thickness_mm)} mm"
    )


def _corners(figure: SegmentFigure, scale: float, bottom: float) -> tuple[Point, ...]:
    outer, inner = figure.outer_mm * scale / 2, figure.inner_mm * scale / 2
    return (
        (_MIDDLE - outer, _TOP),
        (_MIDDLE + outer, _TOP),
        (_MIDDLE + inner, bottom),
        (_MIDDLE - inner, bottom),
    )


def _plan(drawing: Drawing, figure: SegmentFigure, scale: float, bottom: float) -> None:
    corners = _corners(figure, scale, bottom)
    drawing.area(corners, Paint(figure.colour))
    outer, inner = figure.outer_mm * scale / 2, figure.inner_mm * scale / 2
    for line in range(1, 7):
        part = line / 7
        half = outer + (inner - outer) * part - 4
        if half > 8:
            _grain(drawing, figure, half, _TOP + (bottom - _TOP) * part, line)
    for radius in figure.finished:
        _finished_arc(drawing, figure, radius, scale)
    drawing.area(corners, None, Pen.HEAVY)
    drawing.line((_MIDDLE, _TOP - 10), (_MIDDLE, bottom + 10), Pen.CHALK)


def _grain(drawing: Drawing, figure: SegmentFigure, half: float, y: float, seed: int) -> None:
    points = [
        (_MIDDLE - half + 2 * half * k / 5, y + _GRAIN[(k + seed) % len(_GRAIN)]) for k in range(6)
    ]
    drawing.add(Path(tuple(points), Pen.GRAIN, line=figure.grain))


def _finished_arc(drawing: Drawing, figure: SegmentFigure, radius: float, scale: float) -> None:
    """The finished round on the rough segment, in chalk, as far as the wood reaches."""
    if figure.radius_mm is None or radius <= 0:
        return
    points = []
    for step in range(-_ARC_STEPS, _ARC_STEPS + 1):
        angle = math.radians(figure.mitre_deg) * step / _ARC_STEPS
        down = figure.radius_mm - radius * math.cos(angle)
        if 0 <= down <= figure.width_mm:
            points.append((_MIDDLE + radius * math.sin(angle) * scale, _TOP + down * scale))
    if len(points) > 1:
        drawing.polyline(points, Pen.CHALK)


def _edge(drawing: Drawing, figure: SegmentFigure, scale: float, top: float) -> None:
    wide = max(figure.outer_mm, figure.inner_mm) * scale
    thick = figure.thickness_mm * scale
    drawing.box((_MIDDLE - wide / 2, top), (wide, thick), Paint(figure.colour))
    for line in range(1, 1 + max(1, int(thick // 14))):
        _grain(drawing, figure, wide / 2 - 4, top + thick * line / (thick // 14 + 1), line + 2)
    drawing.box((_MIDDLE - wide / 2, top), (wide, thick), None, Pen.HEAVY)
    drawing.line((_MIDDLE, top - 8), (_MIDDLE, top + thick + 8), Pen.CHALK)


def _dimensions(
    drawing: Drawing, figure: SegmentFigure, scale: float, bottom: float, edge_top: float
) -> None:
    outer, inner = figure.outer_mm * scale / 2, figure.inner_mm * scale / 2
    dimension_across(
        drawing,
        _MIDDLE - outer,
        _MIDDLE + outer,
        _TOP - 24,
        format_mm(figure.outer_mm),
        from_y=(_TOP, _TOP),
        letter=Letter.FIGURE,
    )
    right = _MIDDLE + max(outer, inner) + 36
    dimension_upright(
        drawing,
        _TOP,
        bottom,
        right,
        format_mm(figure.width_mm),
        from_x=(_MIDDLE + outer, _MIDDLE + inner),
        letter=Letter.FIGURE,
    )
    if figure.mitre_deg > 0 and figure.inner_mm > 0:
        dimension_across(
            drawing,
            _MIDDLE - inner,
            _MIDDLE + inner,
            bottom + 36,
            format_mm(figure.inner_mm),
            from_y=(bottom, bottom),
            letter=Letter.FIGURE,
        )
    thick = figure.thickness_mm * scale
    wide = max(outer, inner)
    dimension_upright(
        drawing,
        edge_top,
        edge_top + thick,
        right,
        format_mm(figure.thickness_mm),
        from_x=(_MIDDLE + wide, _MIDDLE + wide),
        letter=Letter.FIGURE,
    )
    if figure.mitre_deg > 0:
        _mitre(drawing, figure, outer, bottom)


def _mitre(drawing: Drawing, figure: SegmentFigure, outer: float, bottom: float) -> None:
    """The angle between the sawn face and a square cut, at the left long point."""
    x, theta = _MIDDLE - outer, math.radians(figure.mitre_deg)
    drawing.line((x, _TOP + 4), (x, bottom + 6), Pen.NARROW)
    reach = (bottom - _TOP) * 0.72
    arc = [
        (x + reach * math.sin(theta * k / 8), _TOP + reach * math.cos(theta * k / 8))
        for k in range(9)
    ]
    drawing.polyline(arc, Pen.NARROW)
    drawing.add(arrowhead(arc[-1], 0, length=9.0), arrowhead(arc[0], 0, length=9.0))
    drawing.line((x - 30, arc[0][1]), arc[0], Pen.NARROW)
    words = f"{figure.mitre_deg:.3f}".rstrip("0").rstrip(".") + "°"
    drawing.text((x - 36, arc[0][1] + 10), words, Letter.FIGURE, "end")


def _inset(drawing: Drawing, figure: SegmentFigure) -> None:
    """The ring from above, the segments that are meant filled; the first one stands on top."""
    x, y, radius = _INSET
    hole = _hole_share(figure)
    angle = -math.radians(figure.ring[0].half_angle_deg)
    for share in figure.ring:
        end = angle + 2 * math.radians(share.half_angle_deg)
        fill = Paint(figure.colour) if share.meant else None
        drawing.area(_sector(x, y, radius, hole, angle, end), fill, Pen.THIN_INK)
        angle = end
    drawing.line((x - radius - 7, y), (x + radius + 7, y), Pen.AXIS)
    drawing.line((x, y - radius - 7), (x, y + radius + 7), Pen.AXIS)
    meant = sum(share.meant for share in figure.ring)
    words = f"{meant} of {len(figure.ring)}"
    drawing.text((x, y + radius + 26), words, Letter.NOTE)


def _hole_share(figure: SegmentFigure) -> float:
    if figure.radius_mm is None:
        return 0.6
    return max(0.0, (figure.radius_mm - figure.width_mm) / figure.radius_mm)


def _sector(
    x: float, y: float, radius: float, hole: float, start: float, end: float
) -> Sequence[Point]:
    def at(share: float, angle: float) -> Point:
        return x + radius * share * math.sin(angle), y - radius * share * math.cos(angle)

    if hole < 0.02:
        return (at(1, start), at(1, end), at(0, 0))
    return (at(1, start), at(1, end), at(hole, end), at(hole, start))
