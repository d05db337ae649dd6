"""The finished piece as it will stand on a table, seen from a little above."""

import math

from server.craft.planned import Planned
from server.exports.drawing import Drawing, Path, Pen, Point, Round, Tone
from server.exports.pictures.bodies import Body, bodies, extent
from server.exports.pictures.paint import View, paint

_TALL, _FLAT = math.radians(13), math.radians(52)
_MARGIN = 10.0


def tilt_for(height_mm: float, diameter_mm: float) -> float:
    """From where a piece shows itself best: a goblet nearly level, a platter from above."""
    flatness = min(1.0, max(0.0, (0.5 - height_mm / max(diameter_mm, 1e-9)) / 0.4))
    return _TALL + (_FLAT - _TALL) * flatness


def portrait(planned: Planned, width: float = 360.0, height: float = 214.0) -> Drawing:
    """A picture of the piece, fitted into `width` × `height` sheet units."""
    work = planned.work
    largest = max(work.top_mm - work.bottom_mm, 1.0)
    # A sixth of a sheet unit is finer than can be seen.
    return portrait_of(bodies(planned, largest / height / 6), planned.piece.name, width, height)


def portrait_of(all_bodies: tuple[Body, ...], name: str, width: float, height: float) -> Drawing:
    """A picture of bodies already built."""
    radius, low, high = extent(all_bodies)
    tilt = tilt_for(high - low, 2 * radius)
    drawing = Drawing(width, height, f"{name}, as it will stand")
    top, bottom = _reach(all_bodies, tilt)
    scale = min(
        (width - 2 * _MARGIN) / max(2 * radius, 1e-9),
        (height - 2 * _MARGIN) / max(top - bottom, 1e-9),
    )
    at = (width / 2, height - _MARGIN + bottom * scale)
    view = View(scale, at, tilt)
    _shadow(drawing, all_bodies, view)
    painted = paint(all_bodies, view)
    drawing.extend(painted.items)
    for outline in painted.silhouette:
        drawing.area(outline, None, Pen.WIDE)
    for body in all_bodies:
        _rim(drawing, body, view)
    return drawing


def _reach(all_bodies: tuple[Body, ...], tilt: float) -> tuple[float, float]:
    """Highest and lowest level on the sheet, in mm above where height 0 meets the axis."""
    cos, sin = math.cos(tilt), math.sin(tilt)
    points = [(r, z) for body in all_bodies for r, z in body.contour]
    return (
        max(z * cos + r * sin for r, z in points),
        min(z * cos - r * sin for r, z in points),
    )


def _shadow(drawing: Drawing, all_bodies: tuple[Body, ...], view: View) -> None:
    """A hatched shadow on the table, fallen to the right and back."""
    _, low, _ = extent(all_bodies)
    foot = max(
        float(body.outside[body.outside[:, 1] <= low + 2, 0].max(initial=0.0))
        for body in all_bodies
    )
    if foot <= 0:
        return
    reach = foot * view.scale
    x, y = view.place(0, low, 0)
    flat = max(0.16, math.sin(view.tilt))
    drawing.add(
        Round(
            (x + reach * 0.42, y - reach * 0.06),
            reach * 1.22,
            reach * 1.12 * flat,
            fill=Tone.SHADOW,
        )
    )


def _rim(drawing: Drawing, body: Body, view: View) -> None:
    """The edges of the rim: the far one belongs to the outline, these are drawn within it."""
    if not len(body.inside) or view.tilt == 0.0:
        return
    r, z = body.inside[0]
    outer_r, outer_z = body.outside[-1]
    x, y = view.place(0, z, 0)
    ry = r * view.scale * math.sin(view.tilt)
    drawing.add(Round((x, y), r * view.scale, ry, Pen.THIN_INK))
    if outer_r - r > 0.4 / view.scale:
        front: list[Point] = [
            view.place(outer_r, outer_z, math.radians(a)) for a in range(-84, 85, 6)
        ]
        drawing.add(Path(tuple(front), Pen.THIN_INK))
