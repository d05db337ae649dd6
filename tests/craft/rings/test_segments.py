"""Flat rings against printed polygons, worked rings, and shapely as an outside oracle."""

import math

import numpy as np
import pytest
import shapely
from geometry_checks import named, numbers, one_worked, printed_agrees, published
from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.errors import CraftError, GeometryError
from server.craft.rings.segments import (
    RingGeometry,
    flat_ring,
    grouped,
    joint_angles_deg,
    segment_polygons,
    spacer_polygons,
)

_FINE = 720


def _disc(radius: float) -> shapely.Polygon:
    """A polygon with its corners on the circle: all of it lies inside the true disc."""
    angle = np.linspace(0, 2 * math.pi, _FINE, endpoint=False)
    return shapely.Polygon(radius * np.stack([np.cos(angle), np.sin(angle)], axis=1))


def _annulus(outside: float, inside: float) -> shapely.Geometry:
    """Nearly the annulus, and nothing that is not of it: its hole is a hair too wide."""
    if inside == 0:
        return _disc(outside)
    return _disc(outside).difference(_disc(inside / math.cos(math.pi / _FINE)))


def _wood(ring: RingGeometry, phase: float) -> shapely.Geometry:
    corners = [*segment_polygons(ring, phase), *spacer_polygons(ring, phase)]
    # A hair wider, so that joints which meet leave no slivers of rounding between them.
    return shapely.union_all(shapely.buffer(shapely.polygons(corners), 1e-7, join_style="mitre"))


def _left_open(ring: RingGeometry, phase: float) -> shapely.Geometry:
    """What open joints leave out on purpose."""
    joints = np.radians(joint_angles_deg(ring, phase))
    far, strips = 2 * ring.outside_radius_mm, []
    for joint in joints:
        along = np.array([math.cos(joint), math.sin(joint)])
        beside = np.array([-along[1], along[0]]) * ring.gap_width_mm / 2
        strips.append(
            shapely.Polygon([beside, far * along + beside, far * along - beside, -beside])
        )
        half = math.radians(ring.gap_angle_deg) / 2
        edges = [
            far * np.array([math.cos(joint + s * half), math.sin(joint + s * half)])
            for s in (-1, 1)
        ]
        strips.append(shapely.Polygon([(0, 0), *edges]))
    return shapely.union_all([strip.buffer(1e-6) for strip in strips if strip.area > 0])


def _missing(ring: RingGeometry, phase: float, outside: float, inside: float) -> float:
    asked = _annulus(outside, inside)
    if ring.is_open:
        asked = asked.difference(_left_open(ring, phase))
    return float(asked.difference(_wood(ring, phase)).area)


@pytest.mark.parametrize("row", published("polygon"), ids=named)
def test_published_polygon(row: dict[str, str]) -> None:
    given = numbers(row)
    n = int(given["n"])
    ring = flat_ring(n, 1.0, 0.0)
    side, inner, outer = ring.segments[0].outer_edge_mm, 1.0, ring.corner_radius_mm
    area = sum(segment.area_mm2 for segment in ring.segments)
    size = {"S": side, "r": inner, "R": outer, "S^2": side**2, "R^2": outer**2, "r^2": inner**2}
    if row["quantity"] == "area":
        value = area * (given["R"] / outer) ** 2
    else:
        upper, lower = row["quantity"].split("/")
        value = (area if upper == "A" else size[upper]) / size[lower]
    assert printed_agrees(row, value), value


@pytest.mark.parametrize("key", ["F02", "F06", "F11"])
def test_worked_closed_ring(key: str) -> None:
    given, expected = one_worked(key)
    ring = flat_ring(given["N"], given["r_o"], given["r_i"])
    _same(ring, expected)
    assert ring.segments[0].mitre_deg == 180 / given["N"]


@pytest.mark.parametrize("key", ["P01", "P04"])
def test_worked_ring_of_a_profile(key: str) -> None:
    given, expected = one_worked(key)
    _same(flat_ring(given["N"], expected["r_o_max"], expected["r_i_min"]), expected, abs_mm=2e-5)


def test_worked_wedge_gap() -> None:
    given, expected = one_worked("W01")
    ring = flat_ring(given["N"], given["r_o"], given["r_i"], gap_angle_deg=given["gap_deg"])
    _same(ring, expected)
    assert ring.segments[0].mitre_deg == 14


def test_worked_parallel_gap() -> None:
    given, expected = one_worked("G02")
    ring = flat_ring(given["N"], given["r_o"], given["r_i"], gap_width_mm=given["gap_mm"])
    _same(ring, expected)
    assert ring.segments[0].mitre_deg == 15


def test_worked_spacers() -> None:
    given, expected = one_worked("S02")
    ring = flat_ring(given["N"], given["r_o"], given["r_i"], spacer_mm=given["spacer"])
    _same(ring, expected)
    assert ring.spacer_length_mm == pytest.approx(expected["spacer_len"], abs=1e-5)
    assert ring.segments[0].mitre_deg == 18


def _same(ring: RingGeometry, expected: dict[str, float], abs_mm: float = 1e-5) -> None:
    (shape,) = set(ring.segments)
    assert ring.board_width_mm == shape.width_mm == pytest.approx(expected["width"], abs=abs_mm)
    assert shape.outer_edge_mm == pytest.approx(expected["L_out"], abs=abs_mm)
    assert shape.inner_edge_mm == pytest.approx(expected["L_in"], abs=abs_mm)
    assert shape.area_mm2 == pytest.approx(expected["area_segment"], abs=50 * abs_mm)
    assert ring.outside_radius_mm - shape.width_mm == pytest.approx(expected["a"], abs=abs_mm)


def test_unequal_shares_have_their_own_widths() -> None:
    # 12 pairs of 3 : 1 round a ring of R 60 and r 48, each by its own half angle.
    ring = flat_ring(24, 60, 48, shares=[3, 1])
    (wide, many), (narrow, few) = grouped(ring.segments)
    assert (many, few) == (12, 12)
    assert (wide.mitre_deg, narrow.mitre_deg) == (11.25, 3.75)
    assert wide.width_mm == pytest.approx(60 - 48 * math.cos(math.radians(11.25)))
    assert narrow.width_mm == pytest.approx(60 - 48 * math.cos(math.radians(3.75)))
    assert ring.board_width_mm == wide.width_mm
    assert ring.corner_radius_mm == pytest.approx(math.hypot(60, wide.outer_edge_mm / 2))
    assert 2 * sum(segment.mitre_deg for segment in ring.segments) == pytest.approx(360)


def test_equal_shares_are_no_shares() -> None:
    assert flat_ring(12, 60, 48, shares=[2] * 12) == flat_ring(12, 60, 48)


@st.composite
def _rings(draw: st.DrawFn) -> tuple[RingGeometry, float]:
    count = draw(st.integers(3, 36))
    outside = draw(st.floats(20, 250))
    inside = draw(st.sampled_from([0.0, 1.0])) * draw(st.floats(0.2, 0.97)) * outside
    shares = draw(st.none() | st.lists(st.floats(0.6, 1.6), min_size=count, max_size=count))
    if shares is not None and max(shares) / sum(shares) > 0.45:
        shares = None
    least = (min(shares) / sum(shares) if shares else 1 / count) * math.pi
    joint = draw(st.sampled_from(["closed", "spacer", "width", "angle"]))
    most = 2 * (inside or outside) * math.sin(least) * 0.9
    size = draw(st.floats(0.01, 1)) * most
    ring = flat_ring(
        count,
        outside,
        inside,
        spacer_mm=size if joint == "spacer" else 0.0,
        gap_width_mm=size if joint == "width" else 0.0,
        gap_angle_deg=math.degrees(least) * 1.8 * size / most if joint == "angle" else 0.0,
        shares=shares,
    )
    return ring, draw(st.floats(0, 1))


@given(_rings())
@settings(max_examples=300, deadline=None)
def test_the_rough_ring_holds_its_whole_annulus_and_no_smaller_one_would(
    made: tuple[RingGeometry, float],
) -> None:
    ring, phase = made
    outside, inside = ring.outside_radius_mm, ring.inside_radius_mm
    # Strips and gaps that meet leave the middle of a solid ring open: a plug's place.
    middle = max(inside, ring.centre_hole_mm + 1e-6 if ring.centre_hole_mm else 0.0)
    assert _missing(ring, phase, outside, middle) < 1e-4
    assert _missing(ring, phase, outside * 1.002, middle) > 1e-3
    if inside:
        assert _missing(ring, phase, outside, inside * 0.995) > 1e-4


@given(_rings())
@settings(max_examples=100, deadline=None)
def test_pieces_do_not_overlap_and_add_up(made: tuple[RingGeometry, float]) -> None:
    ring, phase = made
    pieces = shapely.polygons(
        np.concatenate([segment_polygons(ring, phase), spacer_polygons(ring, phase)])
    )
    # Joints that meet but for rounding upset the union; on a grid they meet.
    together = shapely.union_all(pieces, grid_size=1e-7)
    assert shapely.is_valid(pieces).all()
    assert together.area == pytest.approx(shapely.area(pieces).sum(), rel=1e-6)
    segments = shapely.area(pieces[: len(ring.segments)])
    assert segments == pytest.approx([segment.area_mm2 for segment in ring.segments], rel=1e-9)
    farthest = np.hypot(*shapely.get_coordinates(pieces[: len(ring.segments)]).T).max()
    assert ring.corner_radius_mm == pytest.approx(farthest, rel=1e-12)


@given(_rings())
@settings(max_examples=100, deadline=None)
def test_joint_faces_lie_where_the_joint_says(made: tuple[RingGeometry, float]) -> None:
    ring, phase = made
    joints = np.radians(np.mod(joint_angles_deg(ring, phase), 360))
    gap = math.radians(ring.gap_angle_deg) / 2
    for corners in segment_polygons(ring, phase):
        inner, outer = corners[0], corners[1]
        way = outer - inner
        angle = math.atan2(way[1], way[0])
        off = np.abs((joints + gap - angle + math.pi) % (2 * math.pi) - math.pi).min()
        assert off < 1e-9
        beside = abs(inner[0] * way[1] - inner[1] * way[0]) / math.hypot(*way)
        assert beside == pytest.approx(ring.joint_shift_mm, abs=1e-9)


def test_phase_zero_has_a_joint_at_zero_and_turns_counter_clockwise() -> None:
    ring = flat_ring(12, 80, 65)
    assert joint_angles_deg(ring)[0] == 0
    first = segment_polygons(ring)[0].mean(axis=0)
    assert math.degrees(math.atan2(first[1], first[0])) == pytest.approx(15)
    assert joint_angles_deg(ring, 0.5)[0] == 15


@pytest.mark.parametrize(
    ("code", "given"),
    [
        ("inside-outside", {"inside_radius_mm": 80}),
        ("inside-outside", {"inside_radius_mm": 90}),
        ("spacer-too-thick", {"inside_radius_mm": 10, "spacer_mm": 20 * math.sin(math.pi / 12)}),
        ("spacer-too-thick", {"inside_radius_mm": 0, "spacer_mm": 160 * math.sin(math.pi / 12)}),
        ("gap-too-wide", {"inside_radius_mm": 10, "gap_width_mm": 6}),
        ("gap-too-wide", {"inside_radius_mm": 10, "gap_angle_deg": 30}),
        ("gap-too-wide", {"inside_radius_mm": 0, "gap_angle_deg": 31}),
        ("share-too-wide", {"inside_radius_mm": 10, "shares": [30] + [1] * 11}),
    ],
)
def test_what_cannot_be_made_is_named(code: str, given: dict[str, float]) -> None:
    with pytest.raises(GeometryError) as refused:
        flat_ring(12, 80, **given)  # type: ignore[arg-type]
    assert refused.value.code == code


def test_just_below_the_limit_an_edge_is_left() -> None:
    ring = flat_ring(12, 80, 10, spacer_mm=20 * math.sin(math.pi / 12) - 1e-6)
    assert 0 < ring.segments[0].inner_edge_mm < 1e-5
    ring = flat_ring(12, 80, 0, gap_width_mm=160 * math.sin(math.pi / 12) - 1e-6)
    assert 0 < ring.segments[0].outer_edge_mm < 1e-5


@pytest.mark.parametrize(
    "given",
    [
        {"segments": 2},
        {"outside_radius_mm": math.nan},
        {"inside_radius_mm": -1},
        {"spacer_mm": -1},
        {"spacer_mm": 1, "gap_width_mm": 1},
        {"shares": [1, 0]},
        {"shares": []},
    ],
)
def test_numbers_that_mean_nothing_are_refused(given: dict[str, float]) -> None:
    values = {"segments": 12, "outside_radius_mm": 80, "inside_radius_mm": 65} | given
    with pytest.raises(CraftError):
        flat_ring(**values)  # type: ignore[arg-type]
