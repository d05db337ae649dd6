"""The templates of a piece: each different segment and stave, and each different ring in plan."""

import math
from collections.abc import Iterator

import numpy as np

from server.craft.planned import Planned
from server.craft.rings.outlines import segment_polygons, spacer_polygons, start_angles_deg
from server.craft.rings.shapes import RingGeometry, SegmentShape
from server.craft.rings.staves import StaveRing
from server.craft.worked.rings import WorkedRing
from server.exports.ring_names import rings_called
from server.exports.templates.ink import Pen, Template, circle
from server.exports.templates.said import angle, size

LINE_MM = 4.4
"""From one line of lettering to the next."""

_LEAST_WIDTH_MM = 84.0
_EDGE_MM = 2.0
_CROSS_MM = 6.0
_ZERO_MM = 6.0
"""Room for the sign of the part’s zero beside a ring."""


_POINT_MM = 0.01
"""An edge shorter than this is a point."""

_Key = tuple[float, ...]


def segment_templates(planned: Planned) -> Iterator[Template]:
    """One template for each different segment, in the order in which they come."""
    found: dict[_Key, tuple[SegmentShape, StaveRing | None, list[str], int]] = {}
    for ring in planned.work.by_ring.values():
        made = ring.flat or ring.stave
        if made is None:
            continue
        for shape in dict.fromkeys(made.segments):
            key = _key(shape, ring.stave)
            _, _, rings, count = found.setdefault(key, (shape, ring.stave, [], 0))
            rings.append(ring.id)
            found[key] = (shape, ring.stave, rings, count + made.segments.count(shape))
    for shape, stave, rings, count in found.values():
        yield _segment(planned, shape, stave, rings, count)


def _key(shape: SegmentShape, stave: StaveRing | None) -> _Key:
    sizes = (shape.mitre_deg, shape.bevel_deg, shape.outer_edge_mm, shape.inner_edge_mm)
    length = stave.blank_length_mm if stave else 0.0
    return tuple(round(value, 3) for value in (*sizes, shape.width_mm, length))


def _segment(
    planned: Planned, shape: SegmentShape, stave: StaveRing | None, rings: list[str], count: int
) -> Template:
    units = planned.piece.display_units
    if stave is None:
        high, kind = shape.width_mm, "Segment"
        settings = f"Mitre {angle(shape.mitre_deg)}, strip {size(shape.width_mm, units)} wide"
    else:
        high, kind = stave.height_mm / math.cos(math.radians(stave.lean_deg)), "Stave, outside face"
        settings = f"Mitre {angle(shape.mitre_deg)}, bevel {angle(shape.bevel_deg)}, board flat"
    wide, narrow = shape.outer_edge_mm, max(0.0, shape.inner_edge_mm)
    width = max(wide, narrow, _LEAST_WIDTH_MM) + 2 * _EDGE_MM
    title = f"{kind}, {rings_called(planned, rings)}"
    drawn = Template(title, width, high + 4 * LINE_MM + 2 * _EDGE_MM)
    middle, top = width / 2, _EDGE_MM
    corners = [
        (middle - narrow / 2, top),
        (middle + narrow / 2, top),
        (middle + wide / 2, top + high),
        (middle - wide / 2, top + high),
    ]
    drawn.line(corners, Pen.CUT, closed=True)
    drawn.line([(middle, top), (middle, top + high)], Pen.AXIS)
    other = f"short edge {size(narrow, units)}" if narrow > _POINT_MM else "to a point"
    edges = f"Long edge {size(wide, units)}, {other}"
    for row, said in enumerate((f"{title}: {count}", settings, edges), 1):
        drawn.say((_EDGE_MM, top + high + row * LINE_MM), said)
    return drawn


def ring_templates(planned: Planned) -> Iterator[Template]:
    """Each different ring seen from above: as glued, and as turned in dashed lines."""
    found: dict[_Key, tuple[WorkedRing, list[str]]] = {}
    for ring in planned.work.by_ring.values():
        if ring.is_made and ring.outside_mm is not None:
            found.setdefault(_ring_key(ring), (ring, []))[1].append(ring.id)
    for ring, names in found.values():
        yield _ring(planned, ring, names)


def _ring_key(ring: WorkedRing) -> _Key:
    made = ring.flat or (ring.stave.big_end if ring.stave else None)
    halves = tuple(shape.half_angle_deg for shape in made.segments) if made else ()
    joints = (made.spacer_mm, made.gap_angle_deg, made.gap_width_mm) if made else ()
    radii = (ring.outside_mm or 0.0, ring.inside_mm, ring.finished_outside_mm or 0.0)
    plug = ring.ring.plug.diameter_mm if ring.ring.plug else 0.0
    sizes = (*radii, ring.finished_inside_mm or 0.0, ring.ring.phase, plug, *joints, *halves)
    return tuple(round(value, 3) for value in sizes)


def _ring(planned: Planned, ring: WorkedRing, names: list[str]) -> Template:
    made = ring.flat or (ring.stave.big_end if ring.stave else None)
    reach = (made.corner_radius_mm if made else ring.outside_mm or 0.0) + _EDGE_MM
    across = 2 * reach
    title = f"{rings_called(planned, names)}, seen from above"
    drawn = Template(title, max(across + _ZERO_MM, _LEAST_WIDTH_MM), across + 4 * LINE_MM)
    middle = ((drawn.width_mm - _ZERO_MM) / 2, reach)
    if made is not None:
        _segments(drawn, made, ring.ring.phase, middle)
    else:
        _round(drawn, middle, ring.outside_mm, Pen.CUT)
        _round(drawn, middle, ring.inside_mm, Pen.CUT)
    if ring.ring.plug is not None:
        _round(drawn, middle, ring.ring.plug.diameter_mm / 2, Pen.CUT)
    _round(drawn, middle, ring.finished_outside_mm, Pen.HIDDEN)
    _round(drawn, middle, ring.finished_inside_mm, Pen.HIDDEN)
    _cross(drawn, middle, reach)
    units = planned.piece.display_units
    rough = f"As glued Ø {size(2 * (ring.outside_mm or 0.0), units)}"
    turned = f"Dashed, as turned Ø {size(2 * (ring.finished_outside_mm or 0.0), units)}"
    for row, said in enumerate((title, rough, turned), 1):
        drawn.say((_EDGE_MM, across + row * LINE_MM), said)
    return drawn


def _segments(
    drawn: Template, made: RingGeometry, phase: float, middle: tuple[float, float]
) -> None:
    # y runs down on paper, and angles run counter-clockwise seen from above.
    up = np.array([1.0, -1.0])
    for corners in segment_polygons(made, phase):
        drawn.line(corners * up + middle, Pen.CUT, closed=True)
    for corners in spacer_polygons(made, phase):
        drawn.line(corners * up + middle, Pen.THIN, closed=True)
    first = math.radians(float(start_angles_deg(made, phase)[0]))
    tip = np.array([math.cos(first), -math.sin(first)])
    near, far = made.outside_radius_mm * 0.9, made.outside_radius_mm
    drawn.line(np.stack([middle + tip * near, middle + tip * far]), Pen.MARK)


def _round(drawn: Template, middle: tuple[float, float], radius_mm: float | None, pen: Pen) -> None:
    if radius_mm:
        drawn.line(circle(middle, radius_mm), pen, closed=True)


def _cross(drawn: Template, middle: tuple[float, float], reach: float) -> None:
    """The axis, and the part's zero to the right."""
    x, y = middle
    drawn.line([(x - _CROSS_MM, y), (x + _CROSS_MM, y)], Pen.MARK)
    drawn.line([(x, y - _CROSS_MM), (x, y + _CROSS_MM)], Pen.MARK)
    drawn.line([(x + _CROSS_MM, y), (x + reach, y)], Pen.AXIS)
    drawn.say((x + reach + 0.5, y + 1), "0°", 2.8)
