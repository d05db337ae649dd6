"""Paints turned bodies seen level or from a little above, in right order and foreshortening.

A sight line from above goes down as it goes away. Of two walls on it the higher one is therefore
the nearer, and painting the rings of all bodies from the lowest to the highest shows what the eye
would see. In one ring the line may meet the far side of the hollow and the near side of the
outside: the hollow is painted first.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from server.craft.form.slopes import Floats
from server.exports.drawing import Item, Paint, Path, Pen, Point, Wash
from server.exports.pictures.bodies import TAU, Body, Sector, Slice
from server.exports.pictures.wash import wash_name

_STRAIGHT = 0.2
"""How far an arc may lie from the chords that stand for it, in sheet units."""

_LEAST_ANGLE = 1e-4
_SMOOTH = math.cos(math.radians(15))
"""At a sharper bend two surfaces meet, each seen as far round as it is."""

_DEEPEST_SHADE = 0.34
_SLIVER, _NARROW = 5.0, 1.0
"""Square units, and units of mean width, below which a face has no joint lines."""

_HALF_LINE = 0.7
"""Half a joint line and a little, in sheet units."""


@dataclass(frozen=True, slots=True)
class View:
    """Where the viewer stands: `tilt` radians above level; `left`..`right` limits the angle.

    `at` is where the axis meets the height 0 on the sheet, `scale` sheet units per mm.
    """

    scale: float
    at: Point
    tilt: float = 0.0
    left: float = -math.pi
    right: float = math.pi

    def place(self, r: float, z: float, angle: float) -> Point:
        """A point of a surface on the sheet."""
        x = r * math.sin(angle)
        y = z * math.cos(self.tilt) - r * math.cos(angle) * math.sin(self.tilt)
        return self.at[0] + x * self.scale, self.at[1] - y * self.scale


@dataclass(frozen=True, eq=False, slots=True)
class Run:
    """Consecutive edges of a contour in one ring that all rise, fall or lie level.

    `half` is at each point how far round it is seen, from the front outside and from the back
    inside. `inside` says that it faces the axis, `hollow` that it belongs to the hollow.
    """

    points: Floats
    half: Floats
    normal: Floats
    inside: bool
    hollow: bool
    slice: Slice

    @property
    def order(self) -> tuple[float, bool, float]:
        """Lower rings first, in each the hollow before the outside, in both what is lower."""
        return self.slice.bottom_mm, not self.hollow, float(self.points[:, 1].mean())


@dataclass(frozen=True, slots=True)
class Painted:
    """What was painted: the items from back to front, and the outline of all of it."""

    items: tuple[Item, ...]
    silhouette: tuple[tuple[Point, ...], ...]


def paint(all_bodies: Sequence[Body], view: View, *, wash: bool = True) -> Painted:
    """Paint bodies; woods first in each band, then its wash."""
    runs = sorted(
        (run for body in all_bodies for run in _runs(body, view)), key=lambda run: run.order
    )
    rims = {id(body): float(body.contour[:, 1].max()) for body in all_bodies}
    top = max(rims.values(), default=0.0)
    items: list[Item] = []
    shapes: list[tuple[Point, ...]] = []
    for run in runs:
        items.extend(_woods(run, view))
        for band in _bands(run, view):
            shapes.append(band[0])
        if wash:
            for patch, normal in _bands(_beyond(run, view), view):
                items.extend(_washes(run, patch, normal, top))
    return Painted(tuple(items), _outline(shapes))


def _outline(shapes: Sequence[tuple[Point, ...]]) -> tuple[tuple[Point, ...], ...]:
    if not shapes:
        return ()
    points = np.array([point for shape in shapes for point in shape])
    numbers = np.repeat(np.arange(len(shapes)), [len(shape) for shape in shapes])
    bands = shapely.polygons(shapely.linearrings(points, indices=numbers))
    # A band all the way round touches itself where it begins and ends.
    sound = np.where(shapely.is_valid(bands), bands, shapely.make_valid(bands))
    sound = sound[shapely.area(sound) > 0]
    if not len(sound):
        return ()
    # Grown a hair, so that bands that only touch become one; so small, a few corners are round.
    whole = shapely.union_all(shapely.buffer(sound, 0.15, quad_segs=2))
    polygons = getattr(whole, "geoms", [whole])
    return tuple(
        tuple((float(x), float(y)) for x, y in polygon.exterior.simplify(0.08).coords[:-1])
        for polygon in polygons
    )


def _runs(body: Body, view: View) -> Iterator[Run]:
    planes = sorted({z for s in body.slices for z in (s.bottom_mm, s.top_mm)})
    contour, is_inside = _cut_at(body, planes)
    edges = np.diff(contour, axis=0)
    length = np.hypot(edges[:, 0], edges[:, 1])
    keep = length > 1e-9
    edges, length, is_inside = edges[keep], length[keep], is_inside[keep]
    starts, ends = contour[:-1][keep], contour[1:][keep]
    if not len(edges):
        return
    normal = np.stack([edges[:, 1], -edges[:, 0]], axis=1) / length[:, None]
    middle = (starts[:, 1] + ends[:, 1]) / 2
    level = np.abs(edges[:, 1]) < 1e-6
    ring = _slice_numbers(body, middle, level, normal)
    kind = np.where(level, 0, np.sign(edges[:, 1])).astype(int)
    bent = np.einsum("ij,ij->i", normal[1:], normal[:-1]) <= _SMOOTH
    bent |= (np.diff(kind) != 0) | (np.diff(is_inside) != 0)
    for smooth in np.split(np.arange(len(edges)), np.flatnonzero(bent) + 1):
        # A glue plane does not break what is seen: rings above and below it end at one place.
        half = _seen(normal[smooth], view.tilt)
        for one in np.split(smooth, np.flatnonzero(np.diff(ring[smooth])) + 1):
            first, last = int(one[0]), int(one[-1])
            inside = bool(normal[one, 0].mean() < -1e-6)
            own = half[first - smooth[0] : last - smooth[0] + 2]
            hidden = inside and view.tilt == 0.0  # from level, the near wall stands before it
            if own.max() > _LEAST_ANGLE and not hidden:
                points = np.concatenate([starts[one], ends[last : last + 1]])
                hollow = bool(is_inside[first])
                yield Run(points, own, normal[one], inside, hollow, body.slices[ring[first]])


def _cut_at(body: Body, planes: Sequence[float]) -> tuple[Floats, NDArray[np.bool_]]:
    """The contour with a point wherever it crosses a glue plane, and which edges are inside."""
    out: list[Floats] = []
    inside: list[bool] = []
    contour = body.contour
    for i in range(len(contour) - 1):
        a, b = contour[i], contour[i + 1]
        out.append(a)
        inside.append(i > body.turn)
        low, high = min(a[1], b[1]), max(a[1], b[1])
        crossed = [z for z in planes if low + 1e-6 < z < high - 1e-6]
        for z in crossed if b[1] > a[1] else reversed(crossed):
            out.append(a + (b - a) * (z - a[1]) / (b[1] - a[1]))
            inside.append(i > body.turn)
    out.append(contour[-1])
    return np.array(out), np.array(inside)


def _slice_numbers(
    body: Body, middle: Floats, level: NDArray[np.bool_], normal: Floats
) -> NDArray[np.intp]:
    """Which ring each edge belongs to; a level one on a plane to the ring whose wood it cuts."""
    tops = np.array([s.top_mm for s in body.slices])
    shifted = middle - np.where(level, np.sign(normal[:, 1]) * 1e-5, 0.0)
    numbers: NDArray[np.intp] = np.clip(np.searchsorted(tops, shifted), 0, len(tops) - 1)
    return numbers


def _seen(normal: Floats, tilt: float) -> Floats:
    """Half the angle that is seen, at each point of a run, from the middle of what is seen.

    Outside that is where cos φ > −edge, counted from the front; inside where cos φ < edge, which
    is the same counted from the back.
    """
    slope = np.tan(tilt)
    radial = np.maximum(np.abs(normal[:, 0]), 1e-9)
    edge = np.clip(normal[:, 1] / radial * slope, -1.0, 1.0)
    each = np.arccos(-edge)
    at = np.empty(len(each) + 1)
    at[0], at[-1] = each[0], each[-1]
    at[1:-1] = (each[:-1] + each[1:]) / 2
    return at


def _centre(run: Run) -> float:
    return math.pi if run.inside else 0.0


def _pieces(sector: Sector, centre: float, view: View) -> Iterator[tuple[float, float]]:
    """The sector as angles from the middle of what is seen, within −π..π and the view's limits."""
    first = math.ceil((centre - sector.end - math.pi) / TAU)
    last = math.floor((centre - sector.start + math.pi) / TAU)
    for turns in range(first, last + 1):
        start = sector.start - centre + turns * TAU
        end = sector.end - centre + turns * TAU
        low, high = max(start, -math.pi), min(end, math.pi)
        if centre == 0.0:
            low, high = max(low, view.left), min(high, view.right)
        if high - low > _LEAST_ANGLE:
            yield low, high


def _woods(run: Run, view: View) -> Iterator[Item]:
    centre = _centre(run)
    data = (("ring", run.slice.ring),) if run.slice.ring else ()
    for sector in run.slice.sectors:
        for low, high in _pieces(sector, centre, view):
            left, right = np.clip(low, -run.half, run.half), np.clip(high, -run.half, run.half)
            if (right - left).max() <= _LEAST_ANGLE:
                continue
            points = _patch(run.points, left, right, centre, view)
            if points:
                pen = Pen.NONE if _is_sliver(points) else Pen.JOINT
                line = sector.face.grain if pen is Pen.JOINT else None
                yield Path(points, pen, Paint(sector.face.colour), True, line, data=data)


def _is_sliver(points: Sequence[Point]) -> bool:
    """At the edge of what is seen a face is too narrow for joint lines, which would stick out."""
    longest = max(max(at) - min(at) for at in zip(*points, strict=True))
    return bool(_area(points) < max(_SLIVER, longest * _NARROW))


def _area(points: Sequence[Point]) -> float:
    """Of a polygon, by the cross products of its corners."""
    twice = sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairwise((*points, points[0])))
    return abs(twice) / 2


def _patch(
    points: Floats, left: Floats, right: Floats, centre: float, view: View
) -> tuple[Point, ...]:
    """The outline of a piece of surface between two angles that change with the height."""
    shown = np.flatnonzero(right - left > 1e-9)
    if not len(shown):
        return ()
    # One point beyond each end, where the piece closes to a tip.
    a, b = max(0, int(shown[0]) - 1), min(len(points) - 1, int(shown[-1]) + 1)
    out: list[Point] = []
    for k in range(a, b + 1):
        out.append(view.place(points[k, 0], points[k, 1], centre + left[k]))
    out += _arc(points[b], left[b], right[b], centre, view)
    for k in range(b, a - 1, -1):
        out.append(view.place(points[k, 0], points[k, 1], centre + right[k]))
    out += _arc(points[a], right[a], left[a], centre, view)
    return tuple(out)


def _arc(point: Floats, start: float, end: float, centre: float, view: View) -> list[Point]:
    """The points between two angles on one circle, without its ends."""
    if view.tilt == 0.0:
        return []
    bend = float(point[0]) * view.scale
    steps = math.ceil(abs(end - start) / math.sqrt(8 * _STRAIGHT / max(bend, 1.0)))
    return [
        view.place(point[0], point[1], centre + start + (end - start) * k / steps)
        for k in range(1, steps)
    ]


def _bands(run: Run, view: View) -> Iterator[tuple[tuple[Point, ...], tuple[float, float]]]:
    """Level bands of a run with one wash each, with their radial and upward normal."""
    centre = _centre(run)
    low = max(-math.pi, view.left) if centre == 0.0 else -math.pi
    high = min(math.pi, view.right) if centre == 0.0 else math.pi
    names = [wash_name(n[0], n[1], run.inside) for n in run.normal]
    first = 0
    for i in range(1, len(names) + 1):
        if i < len(names) and names[i] == names[first]:
            continue
        span = slice(first, i + 1)
        half = run.half[span]
        left, right = np.clip(low, -half, half), np.clip(high, -half, half)
        patch = _patch(run.points[span], left, right, centre, view)
        if len(patch) > 3:
            mean = run.normal[first:i].mean(axis=0)
            yield patch, (float(mean[0]), float(mean[1]))
        first = i


def _beyond(run: Run, view: View) -> Run:
    """The run drawn out below by half a joint line, so that its wash covers all of the line."""
    foot, next_to = (0, 1) if run.points[0, 1] < run.points[-1, 1] else (-1, -2)
    way = run.points[foot] - run.points[next_to]
    length = math.hypot(*way)
    if abs(way[1]) < 1e-6 or view.tilt == 0.0:
        return run
    points = run.points.copy()
    points[foot] = points[foot] + way * (_HALF_LINE / view.scale / length)
    points[foot, 0] = max(0.0, points[foot, 0])
    return replace(run, points=points)


def _washes(
    run: Run, patch: tuple[Point, ...], normal: tuple[float, float], top_mm: float
) -> Iterator[Item]:
    yield Path(patch, Pen.NONE, Wash(wash_name(*normal, run.inside)), True, crisp=True)
    is_within = run.inside or (normal[1] > 0.9 and run.points[:, 1].max() < top_mm - 1e-6)
    if run.inside and is_within:
        deep = min(
            1.0,
            (top_mm - float(run.points[:, 1].mean()))
            / max(1.0, 2.2 * float(run.points[:, 0].max())),
        )
        if deep > 0.02:
            yield Path(
                patch, Pen.NONE, Paint("#1d0d05", _DEEPEST_SHADE * deep**0.7), True, crisp=True
            )
