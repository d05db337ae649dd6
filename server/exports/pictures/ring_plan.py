"""One ring from above: the segments as sawn in phantom line, the finished ring in its woods.

0° points towards the viewer, at the foot of the drawing, and angles grow counter-clockwise.
"""

import math
from collections.abc import Callable, Mapping

import numpy as np

from server.craft.rings.outlines import segment_polygons
from server.craft.worked.rings import WorkedRing
from server.exports.drawing import Data, Drawing, Letter, Paint, Path, Pen, Point, Round, Tone
from server.exports.pictures.bodies import Sector, Slice

_MARGIN = 16.0
_FINGER = 0.35
"""A touched segment reaches in to this share of the radius."""

_ARC_STEP = math.radians(4)


def ring_from_above(
    worked: WorkedRing,
    ring: Slice,
    name: str,
    *,
    size: float = 240.0,
    touch: Mapping[int | None, Data] | None = None,
) -> Drawing:
    """The ring fitted into a square sheet; `touch` gives attributes of each segment's face."""
    drawing = Drawing(size, size, f"{name} from above")
    reach = worked.corner_radius_mm or worked.outside_mm or 1.0
    scale = (size / 2 - _MARGIN) / reach
    centre = size / 2

    def place(radius: float, angle: float) -> Point:
        return (
            centre + radius * scale * math.sin(angle),
            centre + radius * scale * math.cos(angle),
        )

    outer, inner = worked.slab.outside_mm or reach, worked.slab.inside_mm
    for sector in ring.sectors:
        points = _annular(sector, inner, outer, place)
        line = sector.face.grain
        drawing.add(
            Path(
                points,
                Pen.JOINT,
                Paint(sector.face.colour),
                True,
                line,
                data=_data(touch, ring, sector),
            )
        )
    drawing.add(Round((centre, centre), outer * scale, outer * scale, Pen.WIDE))
    if inner > 0:
        drawing.add(Round((centre, centre), inner * scale, inner * scale, Pen.WIDE))
    _as_sawn(drawing, worked, centre, scale)
    for sector in ring.sectors if touch else ():
        # A finished wall is narrower than a finger.
        points = _annular(sector, _FINGER * reach, reach, place)
        drawing.add(Path(points, Pen.NONE, Tone.HIT, True, data=_data(touch, ring, sector)))
    arm = size / 2 - 4
    drawing.line((centre - arm, centre), (centre + arm, centre), Pen.AXIS)
    drawing.line((centre, centre - arm), (centre, centre + arm), Pen.AXIS)
    drawing.text((centre + 7, size - 3), "0°", Letter.SMALL, "start")
    return drawing


def _data(touch: Mapping[int | None, Data] | None, ring: Slice, sector: Sector) -> Data:
    """What names a segment, or all of a ring that has none; spacers and gaps have no name."""
    if touch is None or (sector.index is None and len(ring.sectors) > 1):
        return ()
    return touch.get(sector.index, ())


def _annular(
    sector: Sector, inner: float, outer: float, place: Callable[[float, float], Point]
) -> tuple[Point, ...]:
    steps = max(1, math.ceil((sector.end - sector.start) / _ARC_STEP))
    angles = [sector.start + (sector.end - sector.start) * k / steps for k in range(steps + 1)]
    points = [place(outer, angle) for angle in angles]
    if inner <= 0:
        return (*points, place(0.0, 0.0))
    return (*points, *(place(inner, angle) for angle in reversed(angles)))


def _as_sawn(drawing: Drawing, worked: WorkedRing, centre: float, scale: float) -> None:
    geometry = worked.flat
    if geometry is None:
        return
    # The craft's x axis is 0°, its y axis 90°: here 0° is down and 90° to the right.
    for corners in segment_polygons(geometry, worked.ring.phase):
        turned = np.stack([corners[:, 1], corners[:, 0]], axis=1) * scale + centre
        points = tuple((float(x), float(y)) for x, y in turned)
        drawing.add(Path(points, Pen.ROUGH, None, True))
