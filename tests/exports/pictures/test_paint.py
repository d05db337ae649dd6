"""The painted picture against sight lines: what lies on top is what the eye would hit first.

The oracle walks a sight line through the contour by plain steps and asks which ring's wood it
meets; it knows nothing of runs, bands or painting order.
"""

import math
from dataclasses import asdict

import numpy as np
import pytest
import shapely
from piece_makers import curve, piece, ring, stack

from server.craft.document import parse_piece
from server.craft.form.starts import FAMILIES, Family, starting_form
from server.craft.planned import Planned, work_out
from server.exports.drawing import Paint, Path, Pen, Text
from server.exports.pictures.bodies import Body, bodies, extent
from server.exports.pictures.paint import View, paint
from server.exports.pictures.portrait import portrait, tilt_for
from server.exports.pictures.section import Marks, section_elevation
from server.exports.pictures.wall import unrolled_wall
from server.exports.pictures.wash import wash_defs, wash_names
from server.exports.svg import to_svg

WOODS = ["sapele", "ash-white", "wenge", "holly", "padauk"]


def vase() -> Planned:
    """A waist, a belly, a neck and a wall: walls that hide each other."""
    part = {
        "id": "v",
        "kind": "ringed",
        "outside": curve((50, 0), (30, 20), (60, 50), (25, 80), (40, 100)),
        "inside": curve((0, 12), (20, 20), (50, 50), (18, 80), (34, 100)),
        "rings": [
            ring(f"r{k}", 20.0, 7 + k, woods=[WOODS[k], WOODS[(k + 2) % 5]], phase=0.13 * k)
            for k in range(5)
        ],
    }
    return work_out(parse_piece(piece([part], stacks=[stack("s", "v", ["r0"])])))


def inside_polygon(points: tuple[tuple[float, float], ...], x: float, y: float) -> bool:
    odd = False
    for (x0, y0), (x1, y1) in zip(points, (*points[1:], points[0]), strict=True):
        if (y0 > y) != (y1 > y) and x < (x1 - x0) * (y - y0) / (y1 - y0) + x0:
            odd = not odd
    return odd


def painted_at(items: tuple, x: float, y: float) -> str | None:
    for item in reversed(items):
        is_wood = isinstance(item, Path) and isinstance(item.fill, Paint) and item.fill.opacity == 1
        if is_wood and inside_polygon(item.points, x, y):
            colour: str = item.fill.colour
            return colour
    return None


def seen_at(body: Body, view: View, x: float, y: float) -> tuple[str | None, float]:
    """The colour of what the sight line meets, and how far from any edge of it, in mm."""
    across = (x - view.at[0]) / view.scale
    up = (view.at[1] - y) / view.scale
    cos, sin = math.cos(view.tilt), math.sin(view.tilt)
    section = body.section()
    radius, low, high = extent((body,))
    towards = np.arange(1.5 * radius + 2 * (high - low), -1.5 * radius - 2 * (high - low), -0.05)
    z = up * cos + towards * sin
    depth = towards * cos - up * sin
    r = np.hypot(across, depth)
    wood = shapely.contains_xy(shapely.Polygon(section), r, z)
    if not wood.any():
        return None, 1.0
    k = int(np.argmax(wood))
    angle = math.atan2(across, depth[k]) % (2 * math.pi)
    for shown in body.slices:
        if shown.bottom_mm <= z[k] <= shown.top_mm:
            for sector in shown.sectors:
                turn = (angle - sector.start) % (2 * math.pi)
                width = sector.end - sector.start
                if turn <= width:
                    edge = min(turn, width - turn) * r[k]
                    rim = min(z[k] - shown.bottom_mm, shown.top_mm - z[k])
                    return sector.face.colour, min(edge, rim)
    return None, 0.0


def started(family: Family) -> Planned:
    """A piece as it begins with one of the forms that are offered, in ten rings."""
    form = starting_form(family.id)
    rings = [
        ring(f"r{k}", family.height_mm / 10, 12, woods=[WOODS[k % 5], WOODS[(k + 2) % 5]])
        for k in range(10)
    ]
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": {"points": [asdict(point) for point in form.outside]},
        "inside": {"points": [asdict(point) for point in form.inside]} if form.inside else None,
        "rings": rings,
    }
    return work_out(parse_piece(piece([part])))


@pytest.mark.parametrize("tilt_deg", [0.0, 13.0, 35.0, 60.0])
def test_what_is_painted_last_is_what_the_eye_meets_first(tilt_deg: float) -> None:
    planned = vase()
    (body,) = bodies(planned)
    view = View(3.0, (200.0, 400.0), math.radians(tilt_deg))
    rng = np.random.default_rng(7)
    places = [(200 + rng.uniform(-185, 185), 400 - rng.uniform(-160, 360)) for _ in range(160)]
    assert _agree(body, view, places, 3.0) > 40


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_every_form_to_begin_with_is_painted_as_the_eye_sees_it(family: Family) -> None:
    (body,) = bodies(started(family), family.height_mm / 1200)
    view = View(
        360 / family.diameter_mm, (200.0, 0.0), tilt_for(family.height_mm, family.diameter_mm)
    )
    painted = np.array([point for shape in paint((body,), view).silhouette for point in shape])
    (left, top), (right, bottom) = painted.min(axis=0), painted.max(axis=0)
    places = [(x, y) for x in np.linspace(left, right, 31) for y in np.linspace(top, bottom, 19)]
    assert _agree(body, view, places, 1.5) > 60


def _agree(body: Body, view: View, places: list[tuple[float, float]], blur: float) -> int:
    """At how many places the picture is right. None may be wrong, but for what a line blurs."""
    items = paint((body,), view).items
    right = 0
    for x, y in places:
        colour, clear = seen_at(body, view, x, y)
        if clear < 1.2:
            continue
        got = painted_at(items, x, y)
        if got != colour:
            # The outline itself is not sharper than the chords it is drawn with.
            steps = (-blur, 0, blur)
            near = {painted_at(items, x + dx, y + dy) for dx in steps for dy in steps}
            assert colour in near, (x, y, got, colour)
            continue
        right += 1
    return right


def test_a_tall_piece_is_seen_level_and_a_flat_one_from_above() -> None:
    assert math.degrees(tilt_for(230, 90)) == pytest.approx(13)
    assert math.degrees(tilt_for(30, 330)) == pytest.approx(52)
    assert math.degrees(tilt_for(100, 300)) > 20


def test_a_portrait_stays_on_its_sheet() -> None:
    drawing = portrait(vase(), 300, 200)
    for item in drawing.items:
        if isinstance(item, Path):
            assert all(-1 <= x <= 301 and -1 <= y <= 201 for x, y in item.points)


def test_every_wash_used_is_defined() -> None:
    drawing = portrait(vase())
    names = wash_names([drawing])
    assert names
    defined = str(wash_defs(names))
    for name in names:
        assert f'id="{name}"' in defined
        assert f"url(#{name})" in to_svg(drawing)


def test_the_section_is_to_scale_and_its_dimensions_are_true() -> None:
    planned = vase()
    drawing = section_elevation(planned, Marks(labels={"r0": "1"}))
    said = [item.words for item in drawing.items if isinstance(item, Text)]
    assert "100.0" in said
    assert "Ø 120.0" in said
    faces = [
        item
        for item in drawing.items
        if isinstance(item, Path) and item.pen is Pen.JOINT and item.data == (("ring", "r2"),)
    ]
    axis = (min(p[0] for p in faces[-1].points) + 0.0) if faces else 0.0
    assert faces
    heights = [max(p[1] for p in f.points) - min(p[1] for p in f.points) for f in faces]
    whole = [i for i in drawing.items if isinstance(i, Path) and i.pen is Pen.WIDE]
    ys = [y for item in whole for _, y in item.points]
    # Ring r2 is 20 of 100 mm high; its section and its elevation are drawn in that proportion.
    assert max(heights) / (max(ys) - min(ys)) == pytest.approx(0.2, abs=0.004)
    assert axis >= 0


def test_the_unrolled_wall_gives_each_segment_its_share() -> None:
    (body,) = bodies(vase())
    drawing = unrolled_wall(body, "Vase", width=420, height=200)
    strips = [
        item for item in drawing.items if isinstance(item, Path) and isinstance(item.fill, Paint)
    ]
    areas: dict[str, float] = {}
    for item in strips:
        (x0, y0), _, (x2, y2), _ = item.points
        assert item.fill is not None
        colour = item.fill.colour  # type: ignore[union-attr]
        areas[colour] = areas.get(colour, 0.0) + abs(x2 - x0) * abs(y2 - y0)
    assert sum(areas.values()) == pytest.approx((420 - 60) * (200 - 40), rel=1e-6)


def test_two_hundred_rings_of_seventy_two_are_drawn() -> None:
    part = {
        "id": "t",
        "kind": "ringed",
        "outside": curve((100, 0), (140, 200), (100, 400)),
        "inside": curve((0, 10), (90, 10), (130, 200), (90, 400)),
        "rings": [ring(f"r{k}", 2.0, 72) for k in range(200)],
    }
    drawing = portrait(work_out(parse_piece(piece([part]))))
    assert len(drawing.items) > 5000
