"""Rough and finished faces against unions of polygons; joints against all pairs."""

import math

import numpy as np
import pytest
import shapely

from server.craft.rings.faces import (
    RoughFace,
    disc_face,
    finished_face_mm2,
    ring_face,
    rough_overlaps_mm2,
)
from server.craft.rings.joints import gap_overlap_deg, joint_angles_deg, least_joint_angle_deg
from server.craft.rings.segments import RingGeometry, flat_ring, segment_polygons, spacer_polygons


def _random_ring(rng: np.random.Generator) -> RingGeometry:
    count = int(rng.choice([6, 8, 9, 12, 15, 24]))
    outside = float(rng.uniform(60, 90))
    inside = float(rng.choice([0.0, rng.uniform(30, 55)]))
    joint = str(rng.choice(["closed", "spacer", "angle", "width"]))
    size = float(rng.uniform(0.5, 3))
    shares = None if rng.random() < 0.5 else rng.uniform(0.7, 1.4, int(rng.choice([1, 3, count])))
    return flat_ring(
        count,
        outside,
        inside,
        spacer_mm=size if joint == "spacer" else 0.0,
        gap_angle_deg=size if joint == "angle" else 0.0,
        gap_width_mm=size if joint == "width" else 0.0,
        shares=None if shares is None else shares.tolist(),
    )


def _wood(ring: RingGeometry, phase: float, plug: float = 0.0) -> shapely.Geometry:
    pieces = [*segment_polygons(ring, phase), *spacer_polygons(ring, phase)]
    # Joints that meet but for rounding upset the union; on a grid they meet.
    wood = shapely.union_all(shapely.polygons(pieces), grid_size=1e-7)
    return wood.union(shapely.Point(0, 0).buffer(plug / 2, quad_segs=180)) if plug else wood


@pytest.mark.parametrize("seed", range(150))
def test_rough_overlap_is_the_area_of_the_unions_met(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lower, upper = _random_ring(rng), _random_ring(rng)
    phases = rng.uniform(0, 1, 2)
    plugs = [float(rng.uniform(20, 50)) if rng.random() < 0.3 else 0.0 for _ in range(2)]
    faces = ring_face(lower, phases[0], plugs[0]), ring_face(upper, phases[1], plugs[1])
    expected = _wood(lower, phases[0], plugs[0]).intersection(_wood(upper, phases[1], plugs[1]))
    # The two stand for a plug's circle by polygons of their own: allow for that.
    slack = 1e-4 * expected.area if any(plugs) else 1e-3
    assert rough_overlaps_mm2([faces])[0] == pytest.approx(expected.area, abs=slack)
    assert rough_overlaps_mm2([faces[::-1]])[0] == pytest.approx(expected.area, abs=slack)
    assert faces[0].area_mm2 == pytest.approx(_wood(lower, phases[0], plugs[0]).area, rel=1e-4)


def test_a_ring_on_itself_meets_with_its_whole_face() -> None:
    ring = flat_ring(12, 80, 65)
    face = ring_face(ring, 0.25)
    whole = sum(segment.area_mm2 for segment in ring.segments)
    assert rough_overlaps_mm2([(face, face)])[0] == pytest.approx(whole)


def test_discs_have_the_area_of_their_circles() -> None:
    disc, washer = disc_face(50), disc_face(60, 20)
    assert disc.area_mm2 == pytest.approx(math.pi * 2500)
    assert rough_overlaps_mm2([(disc, washer)])[0] == pytest.approx(math.pi * (2500 - 400))
    ring = ring_face(flat_ring(12, 80, 30))
    expected = math.pi * 2500 - 12 * 30**2 * math.sin(math.pi / 12) * math.cos(math.pi / 12)
    assert rough_overlaps_mm2([(disc, ring)])[0] == pytest.approx(expected, rel=1e-5)
    assert rough_overlaps_mm2([(ring, disc)])[0] == pytest.approx(expected, rel=1e-5)


def test_finished_face_of_closed_rings_is_the_annulus() -> None:
    faces = [ring_face(flat_ring(12, 80, 60), phase) for phase in (0, 0.5)]
    expected = math.pi * (75**2 - 65**2)
    assert finished_face_mm2([(65, 75)]) == pytest.approx(expected)
    assert finished_face_mm2([(65, 75)], *faces) == pytest.approx(expected)


def test_only_wood_on_wood_holds_open_rings() -> None:
    rings = [ring_face(flat_ring(12, 80, 60, gap_angle_deg=4), phase) for phase in (0, 0.5)]
    # Turned by half a segment each gap lies over wood: both patterns' gaps are lost.
    expected = math.pi * (75**2 - 65**2) * (1 - 2 * 12 * 4 / 360)
    assert finished_face_mm2([(65, 75)], *rings) == pytest.approx(expected, rel=1e-5)
    aligned = rings[0]
    expected = math.pi * (75**2 - 65**2) * (1 - 12 * 4 / 360)
    assert finished_face_mm2([(65, 75)], aligned, aligned) == pytest.approx(expected, rel=1e-5)


def test_faces_that_do_not_meet_press_nothing() -> None:
    near, far = ring_face(flat_ring(12, 40, 30)), ring_face(flat_ring(12, 80, 60))
    assert rough_overlaps_mm2([(near, far)])[0] == 0


@pytest.mark.parametrize("seed", range(50))
def test_least_joint_angle_is_the_least_of_all_pairs(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lower, upper = (joint_angles_deg(_random_ring(rng), float(rng.uniform(0, 1))) for _ in range(2))
    apart = np.abs((np.array(lower)[:, None] - upper + 180) % 360 - 180)
    assert least_joint_angle_deg(lower, upper) == pytest.approx(apart.min(), abs=1e-9)


def test_bricks_overlap_an_open_gap_by_theta_less_the_gap() -> None:
    ring = flat_ring(12, 70, 60, gap_angle_deg=2)
    assert gap_overlap_deg(ring, 0, ring, 0.5) == pytest.approx(15 - 2)
    assert gap_overlap_deg(ring, 0, ring, 0) == pytest.approx(-2)
    wide = flat_ring(12, 70, 60, gap_angle_deg=15)
    assert gap_overlap_deg(wide, 0, wide, 0.5) == pytest.approx(0)


def test_a_closed_neighbour_or_a_disc_bridges_all_of_a_segment() -> None:
    ring, closed = flat_ring(12, 70, 60, gap_angle_deg=2), flat_ring(12, 70, 60)
    assert gap_overlap_deg(ring, 0, closed, 0) == pytest.approx(28)
    assert gap_overlap_deg(ring, 0, None) == pytest.approx(28)
    assert gap_overlap_deg(closed, 0, ring, 0) is None


def test_parallel_gaps_are_measured_where_they_are_widest() -> None:
    ring = flat_ring(12, 70, 60, gap_width_mm=3)
    half = math.degrees(math.asin(1.5 / 60))
    assert gap_overlap_deg(ring, 0, ring, 0.5) == pytest.approx(15 - 2 * half)


@pytest.mark.parametrize("seed", range(40))
def test_bridging_agrees_with_polygons_at_a_radius(seed: int) -> None:
    """A gap is bridged if, over its whole width, the neighbour has wood without a break."""
    rng = np.random.default_rng(seed)
    count = int(rng.choice([8, 12, 16]))
    gap = float(rng.uniform(1, 170 / count))
    other = int(rng.choice([8, 12, 16]))
    ring = flat_ring(count, 70, 60, gap_angle_deg=gap)
    neighbour = flat_ring(other, 72, 58, gap_angle_deg=float(rng.uniform(1, 170 / other)))
    phases = rng.uniform(0, 1, 2)
    overlap = gap_overlap_deg(ring, phases[0], neighbour, phases[1])
    assert overlap is not None
    circle = [
        65 * np.array([math.cos(a), math.sin(a)]) for a in np.radians(np.arange(0, 360, 0.02))
    ]
    wood = shapely.polygons(segment_polygons(neighbour, phases[1]))
    shapely.prepare(wood)
    owner = np.full(len(circle), -1)
    points = shapely.points(circle)
    for i, piece in enumerate(wood):
        owner[shapely.intersects(piece, points)] = i
    margins = []
    for joint in joint_angles_deg(ring, phases[0]):
        over = (
            np.round(np.arange(joint - gap / 2, joint + gap / 2, 0.02) / 0.02).astype(int) % 18000
        )
        margins.append(len(set(owner[over].tolist())) == 1 and owner[over[0]] >= 0)
    if abs(overlap) > 0.1:
        assert (overlap > 0) == all(margins)


def test_a_face_can_be_asked_for_some_of_its_pieces() -> None:
    face: RoughFace = ring_face(flat_ring(12, 80, 65))
    (piece,) = face.outlines(np.array([3]))
    assert piece.area == pytest.approx(face.area_mm2 / 12)
