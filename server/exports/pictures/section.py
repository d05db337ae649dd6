"""The shop drawing of a piece: section to the left of the axis, elevation to the right."""

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from server.craft.document.assembly import Joint
from server.craft.form.slopes import Floats
from server.craft.planned import Planned
from server.craft.worked.rings import WorkedRing
from server.exports.dimensions import dimension_across, dimension_upright, spread
from server.exports.drawing import (
    Data,
    Drawing,
    Letter,
    Paint,
    Path,
    Pen,
    Point,
    Sign,
    Tone,
)
from server.exports.pictures.bodies import Body, Face, Slice, bodies, extent, face
from server.exports.pictures.paint import View, paint

_LABEL_SPACE = 92.0
_DIMENSION_SPACE = {True: 60.0, False: 94.0}
"""Room at the right: one line of dimensions for a single part, two for several."""

_EDGE = 18.0
_FOOT = 46.0
"""Room below for the greatest diameter."""

_LABEL_LEAST = 19.0


@dataclass(frozen=True, slots=True)
class Marks:
    """What to point at: `stop` and `warn` ring ids with a few words, the ring `chosen`.

    `labels` are the ring numbers shown, `links` the attributes of each ring's touchable face.
    """

    stop: Mapping[str, str] = field(default_factory=dict)
    warn: Mapping[str, str] = field(default_factory=dict)
    chosen: str | None = None
    labels: Mapping[str, str] = field(default_factory=dict)
    links: Mapping[str, Data] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Where the drawing lies on its sheet: mm to sheet units."""

    scale: float
    axis: float
    base: float

    def left(self, r: float, z: float) -> Point:
        """A point of the section."""
        return self.axis - r * self.scale, self.base - z * self.scale

    def points(self, line: Floats) -> tuple[Point, ...]:
        """A line of the section."""
        return tuple(self.left(float(r), float(z)) for r, z in line)

    def height(self, z: float) -> float:
        """The level of a height."""
        return self.base - z * self.scale


def section_elevation(
    planned: Planned,
    marks: Marks,
    *,
    width: float = 460.0,
    height: float = 640.0,
    say_height: Mapping[str, str] | None = None,
    say_diameter: str | None = None,
) -> Drawing:
    """The section and elevation of the whole piece, fitted into the sheet.

    `say_height` gives the words of each part's height dimension by its id, and of the whole by
    "" (units are the caller's).
    """
    drawn = draw_piece(planned, bodies(planned), width, height)
    drawing = drawn.drawing
    write_on(drawing, planned, drawn, marks, say_height=say_height, say_diameter=say_diameter)
    return drawing


@dataclass(frozen=True, slots=True)
class Drawn:
    """The piece on its sheet, before anything is written or marked on it."""

    drawing: Drawing
    bodies: tuple[Body, ...]
    sheet: Sheet


def draw_piece(
    planned: Planned, all_bodies: tuple[Body, ...], width: float = 460.0, height: float = 640.0
) -> Drawn:
    """Section and elevation alone: what is the same whatever is chosen."""
    sheet, height = _fit(all_bodies, width, height)
    drawing = Drawing(width, height, f"{planned.piece.name}, section and elevation")
    _section(drawing, planned, all_bodies, sheet)
    _elevation(drawing, all_bodies, sheet)
    _axis(drawing, all_bodies, sheet)
    return Drawn(drawing, all_bodies, sheet)


def write_on(
    drawing: Drawing,
    planned: Planned,
    drawn: Drawn,
    marks: Marks,
    *,
    say_height: Mapping[str, str] | None = None,
    say_diameter: str | None = None,
) -> None:
    """Ring numbers, marks and dimensions of a drawn piece, onto a drawing of the same size."""
    _ring_labels(drawing, planned, drawn.bodies, drawn.sheet, marks)
    _heights(drawing, drawn.bodies, drawn.sheet, say_height or {})
    _diameter(drawing, drawn.bodies, drawn.sheet, say_diameter)


def _fit(all_bodies: tuple[Body, ...], width: float, height: float) -> tuple[Sheet, float]:
    """The scale that fills the sheet, and how high the sheet then is: a bowl needs no tall one."""
    radius, low, high = extent(all_bodies)
    right = _DIMENSION_SPACE[len(all_bodies) == 1]
    room = width - _LABEL_SPACE - right
    tall = max(high - low, 1e-9)
    wide = max(2 * radius, 1e-9)  # a form drawn on the axis alone has no width yet
    scale = min(room / wide, (height - _EDGE - _FOOT) / tall)
    used = tall * scale
    labels = _LABEL_LEAST * sum(len(body.slices) for body in all_bodies)
    sheet_height = min(height, max(used, labels) + _EDGE + _FOOT)
    axis = _LABEL_SPACE + room / 2
    base = _EDGE + (sheet_height - _EDGE - _FOOT + used) / 2
    return Sheet(scale, axis, base + low * scale), sheet_height


def _section(
    drawing: Drawing, planned: Planned, all_bodies: tuple[Body, ...], sheet: Sheet
) -> None:
    for body in all_bodies:
        whole = shapely.make_valid(shapely.Polygon(body.section()))
        for ring in body.slices:
            for polygon in slice_polygons(whole, ring):
                drawing.add(_cut_face(polygon, ring, sheet))
    for joint in planned.piece.joints:
        _joint(drawing, planned, joint, {b.part: b for b in all_bodies}, sheet)
    for body in all_bodies:
        _section_outline(drawing, body, sheet)
    offsets = planned.work.offsets_mm
    for part in planned.work.parts:
        for worked in part.rings:
            _rough(drawing, worked, offsets[part.id], sheet)


def slice_polygons(whole: BaseGeometry, ring: Slice) -> Iterator[shapely.Polygon]:
    """What of a half section lies in a ring."""
    _, _, far, _ = whole.bounds if not whole.is_empty else (0, 0, 0, 0)
    slab = shapely.box(-1.0, ring.bottom_mm, far + 1.0, ring.top_mm)
    cut = shapely.intersection(whole, slab)
    for shape in getattr(cut, "geoms", [cut]):
        if isinstance(shape, shapely.Polygon) and shape.area > 1e-6:
            yield shape


def _cut_face(polygon: shapely.Polygon, ring: Slice, sheet: Sheet) -> Path:
    """The cut goes through the segment at the left; its wood fills the face."""
    wood = wood_at(ring, -math.pi / 2)
    data = (("ring", ring.ring),) if ring.ring else ()
    holes = tuple(sheet.points(np.array(hole.coords[:-1])) for hole in polygon.interiors)
    outer = sheet.points(np.array(polygon.exterior.coords[:-1]))
    return Path(outer, Pen.JOINT, Paint(wood.colour), True, wood.grain, holes, data)


def wood_at(ring: Slice, angle: float) -> Face:
    """The wood that a ring shows at an angle, that of the nearest segment where it is open."""
    turn = 2 * math.pi
    whole = [s for s in ring.sectors if s.index is not None] or list(ring.sectors)
    for sector in whole:
        if (angle - sector.start) % turn <= sector.end - sector.start:
            return sector.face
    return whole[0].face


def _joint(
    drawing: Drawing, planned: Planned, joint: Joint, by_part: Mapping[str, Body], sheet: Sheet
) -> None:
    """The mortise as air, the tenon in it in its part's wood."""
    tenon, mortise = by_part[joint.tenon.part], by_part[joint.mortise.part]
    if joint.mortise.end == "bottom":
        plane, up = float(mortise.contour[:, 1].min()), 1
    else:
        plane, up = float(mortise.contour[:, 1].max()), -1
    hole, deep = joint.mortise_diameter_mm / 2, joint.mortise_depth_mm
    corners = np.array(
        [[0, plane], [hole, plane], [hole, plane + up * deep], [0, plane + up * deep]]
    )
    drawing.area(sheet.points(corners), Tone.PAPER, Pen.THIN_INK)
    wood = face(planned.woods, planned.piece.part(tenon.part).own_wood)
    if tenon.slices and tenon.slices[0].ring is not None:
        wood = wood_at(tenon.slices[-1 if joint.tenon.end == "top" else 0], -math.pi / 2)
    half, long = joint.diameter_mm / 2, joint.depth_mm
    body = np.array([[0, plane], [half, plane], [half, plane + up * long], [0, plane + up * long]])
    drawing.area(sheet.points(body), Paint(wood.colour))
    edge = np.array([[half, plane], [half, plane + up * long], [0, plane + up * long]])
    drawing.polyline(sheet.points(edge), Pen.WIDE)
    drawing.line(sheet.left(0, plane), sheet.left(half, plane), Pen.HIDDEN)


def _section_outline(drawing: Drawing, body: Body, sheet: Sheet) -> None:
    line = body.section() if body.closed else np.concatenate([body.contour, body.contour[:1]])
    off_axis = [(a, b) for a, b in itertools.pairwise(line) if max(a[0], b[0]) > 1e-6]
    run: list[Floats] = []
    for a, b in off_axis:
        if run and np.abs(run[-1] - a).max() < 1e-6:
            run.append(b)
            continue
        if run:
            drawing.polyline(sheet.points(np.array(run)), Pen.WIDE)
        run = [a, b]
    if run:
        drawing.polyline(sheet.points(np.array(run)), Pen.WIDE)
    if body.closed and body.contour[0, 0] > 1e-6:
        drawing.polyline(
            sheet.points(np.array([[0.0, body.contour[0, 1]], body.contour[0]])), Pen.WIDE
        )


def _rough(drawing: Drawing, ring: WorkedRing, offset_mm: float, sheet: Sheet) -> None:
    """The ring as glued, before the turning."""
    if ring.outside_mm is None:
        return
    inner, outer = ring.inside_mm, ring.outside_mm
    low, high = ring.z_bottom_mm + offset_mm, ring.z_top_mm + offset_mm
    corners = np.array([[inner, low], [outer, low], [outer, high], [inner, high]])
    drawing.add(Path(sheet.points(corners), Pen.ROUGH, None, True))


def _elevation(drawing: Drawing, all_bodies: tuple[Body, ...], sheet: Sheet) -> None:
    view = View(sheet.scale, (sheet.axis, sheet.base), 0.0, 0.0, math.pi / 2)
    painted = paint(all_bodies, view)
    drawing.extend(painted.items)
    for outline in painted.silhouette:
        drawing.area(outline, None, Pen.WIDE)


def _axis(drawing: Drawing, all_bodies: tuple[Body, ...], sheet: Sheet) -> None:
    _, low, high = extent(all_bodies)
    drawing.line(
        (sheet.axis, sheet.height(high) - 14), (sheet.axis, sheet.height(low) + 14), Pen.AXIS
    )


def _ring_labels(
    drawing: Drawing,
    planned: Planned,
    all_bodies: tuple[Body, ...],
    sheet: Sheet,
    marks: Marks,
) -> None:
    slices = [s for body in all_bodies for s in body.slices if s.ring is not None]
    wanted = [sheet.height((s.bottom_mm + s.top_mm) / 2) for s in slices]
    placed = spread(wanted, _LABEL_LEAST)
    for ring, at, y in zip(slices, wanted, placed, strict=True):
        name = ring.ring or ""
        worked = planned.work.by_ring[name]
        reach = worked.outside_mm or worked.corner_radius_mm or 0.0
        edge = sheet.axis - reach * sheet.scale
        _ring_label(drawing, marks, name, (y, at, edge))
        _touch(drawing, sheet, ring, reach, marks)


def _ring_label(
    drawing: Drawing, marks: Marks, ring: str, place: tuple[float, float, float]
) -> None:
    y, at, edge = place
    words = marks.labels.get(ring, ring)
    faulty, doubtful = ring in marks.stop, ring in marks.warn
    drawing.text((48, y + 6.5), words, Letter.FAULT if faulty else Letter.PLAIN, "end")
    pen = Pen.FAULT_NARROW if faulty else Pen.NARROW
    drawing.polyline(((53, y), (66, y), (max(70.0, edge - 3), at)), pen)
    if faulty or doubtful:
        drawing.add(Sign((0, y - 10), "stop" if faulty else "warn", 20, faulty))


def _touch(drawing: Drawing, sheet: Sheet, ring: Slice, reach: float, marks: Marks) -> None:
    """The ring's face to touch, and its frame when it is chosen or at fault."""
    name = ring.ring or ""
    corners = np.array(
        [
            [-reach, ring.bottom_mm],
            [reach, ring.bottom_mm],
            [reach, ring.top_mm],
            [-reach, ring.top_mm],
        ]
    )
    frame = sheet.points(corners)
    if name in marks.stop:
        drawing.add(Path(_half(frame, sheet), Pen.FAULT, None, True))
    if name == marks.chosen:
        drawing.add(Path(frame, Pen.HAND, None, True))
    if name in marks.links:
        drawing.add(Path(frame, Pen.NONE, Tone.HIT, True, data=marks.links[name]))


def _half(frame: tuple[Point, ...], sheet: Sheet) -> tuple[Point, ...]:
    return tuple((min(x, sheet.axis), y) for x, y in frame)


def _heights(
    drawing: Drawing,
    all_bodies: tuple[Body, ...],
    sheet: Sheet,
    say: Mapping[str, str],
) -> None:
    radius, low, high = extent(all_bodies)
    first = sheet.axis + radius * sheet.scale + 34
    for body in all_bodies:
        bottom, top = float(body.contour[:, 1].min()), float(body.contour[:, 1].max())
        words = say.get(body.part, f"{top - bottom:.1f}")
        if len(all_bodies) > 1:
            edges = (
                sheet.axis + _radius_at(body, top) * sheet.scale,
                sheet.axis + _radius_at(body, bottom) * sheet.scale,
            )
            dimension_upright(
                drawing, sheet.height(top), sheet.height(bottom), first, words, from_x=edges
            )
    x = first + (34 if len(all_bodies) > 1 else 0)
    words = say.get("", f"{high - low:.1f}")
    reach = sheet.axis + radius * sheet.scale if len(all_bodies) == 1 else first
    dimension_upright(
        drawing,
        sheet.height(high),
        sheet.height(low),
        x,
        words,
        from_x=(reach, reach),
        letter=Letter.LARGE,
    )


def _diameter(
    drawing: Drawing, all_bodies: tuple[Body, ...], sheet: Sheet, words: str | None
) -> None:
    """The greatest diameter, below the drawing."""
    radius, low, _ = extent(all_bodies)
    widest = next(
        float(z) for body in all_bodies for r, z in body.contour if abs(float(r) - radius) < 1e-9
    )
    left, right = sheet.axis - radius * sheet.scale, sheet.axis + radius * sheet.scale
    y = sheet.height(low) + 34
    start = sheet.height(widest)
    dimension_across(drawing, left, right, y, words or f"Ø {2 * radius:.1f}", from_y=(start, start))


def _radius_at(body: Body, z: float) -> float:
    near = np.abs(body.contour[:, 1] - z) < 0.05
    return float(body.contour[near, 0].max()) if near.any() else 0.0


def scale_words(drawing_scale: float, pixels_per_mm: float = 96 / 25.4) -> str:
    """The scale as a title block says it, `1 : 1.6`, at the nominal size of a CSS pixel."""
    ratio = pixels_per_mm / drawing_scale
    return f"1 : {ratio:.1f}" if ratio >= 1 else f"{1 / ratio:.1f} : 1"
