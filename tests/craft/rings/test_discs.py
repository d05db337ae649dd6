"""Discs, panels and plugs against unions of polygons."""

import math

import numpy as np
import pytest
import shapely

from server.craft.errors import GeometryError
from server.craft.rings.discs import disc, least_plug_mm, panel_boards, refuse_wide_plug
from server.craft.rings.segments import (
    flat_ring,
    half_angles_deg,
    joint_angles_deg,
    segment_polygons,
    spacer_polygons,
)

_FINE = 720


def _circle(radius: float) -> shapely.Polygon:
    angle = np.linspace(0, 2 * math.pi, _FINE, endpoint=False)
    return shapely.Polygon(radius * np.stack([np.cos(angle), np.sin(angle)], axis=1))


@pytest.mark.parametrize("seed", range(300))
def test_boards_of_a_panel_cover_the_disc_and_are_no_longer_than_they_must(seed: int) -> None:
    rng = np.random.default_rng(seed)
    radius, board = float(rng.uniform(20, 300)), float(rng.uniform(30, 250))
    boards = panel_boards(radius, board)
    assert len(boards) == math.ceil(2 * radius / board)
    assert all(b.width_mm <= board + 1e-9 for b in boards)
    shapes = [
        shapely.box(b.offset_mm, -b.length_mm / 2, b.offset_mm + b.width_mm, b.length_mm / 2)
        for b in boards
    ]
    panel = shapely.union_all(shapes, grid_size=1e-7)
    assert _circle(radius).difference(panel.buffer(1e-6)).area < 1e-6
    for shape, b in zip(shapes, boards, strict=True):
        needed = shapely.intersection(_circle(radius), shape).bounds
        assert b.length_mm == pytest.approx(needed[3] - needed[1], rel=1e-4, abs=1e-3)


def test_a_disc_that_one_board_holds_is_one_board() -> None:
    (board,) = panel_boards(50, 100)
    assert (board.offset_mm, board.width_mm, board.length_mm) == (-50, 100, 100)


def test_a_floating_disc_lies_in_a_wider_recess() -> None:
    made = disc(40, grain_deg=200, floating_gap_mm=1.5)
    assert made.recess_radius_mm == 41.5
    assert made.grain_deg == 20
    assert made.board_width_mm == 80
    assert made.face_mm2 == pytest.approx(math.pi * 1600)


def test_a_washer_needs_wood() -> None:
    assert disc(40, 30).face_mm2 == pytest.approx(math.pi * 700)
    with pytest.raises(GeometryError) as refused:
        disc(40, 40)
    assert refused.value.code == "inside-outside"


@pytest.mark.parametrize("seed", range(300))
def test_the_least_plug_just_covers_the_hole(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count, outside = int(rng.integers(3, 30)), float(rng.uniform(40, 200))
    inside = float(rng.choice([0.0, rng.uniform(5, outside * 0.9)]))
    shares = rng.uniform(0.7, 1.4, count).tolist() if seed % 3 == 0 and count > 4 else None
    least_half = math.radians(min(half_angles_deg(count, shares)))
    most = 2 * (inside or outside) * math.sin(least_half) * 0.8
    joint = str(rng.choice(["closed", "spacer", "width"])) if inside else "spacer"
    thick = float(rng.uniform(0.1, 1)) * most
    ring = flat_ring(
        count,
        outside,
        inside,
        spacer_mm=thick if joint == "spacer" else 0.0,
        gap_width_mm=thick if joint == "width" else 0.0,
        shares=shares,
    )
    wood = shapely.union_all(
        shapely.buffer(
            shapely.polygons(np.concatenate([segment_polygons(ring), spacer_polygons(ring)])),
            1e-7,
            join_style="mitre",
        )
    )
    # Open joints are left open; what the plug must fill is the hole that they surround.
    strips = shapely.union_all(
        [
            shapely.LineString(
                [(0, 0), (2 * outside * math.cos(a), 2 * outside * math.sin(a))]
            ).buffer(thick / 2 + 1e-6, cap_style="flat")
            for a in np.radians(joint_angles_deg(ring))
        ]
    )
    asked = _circle(outside) if joint != "width" else _circle(outside).difference(strips)
    least = least_plug_mm(ring) / 2
    # A circumscribed polygon holds the whole plug; the largest inside one is a hair smaller.
    plug = _circle(least / math.cos(math.pi / _FINE))
    assert asked.difference(wood).difference(plug).area < 1e-3
    smaller = _circle(least * 0.97 - 0.01) if least > 0.02 else None
    if smaller is not None:
        assert asked.difference(wood).difference(smaller).area > 1e-5


def test_a_plug_leaves_wood_round_it() -> None:
    with pytest.raises(GeometryError) as refused:
        refuse_wide_plug(160, 80)
    assert refused.value.code == "plug-too-wide"
    refuse_wide_plug(159.9, 80)


def test_a_closed_pie_needs_no_plug() -> None:
    assert least_plug_mm(flat_ring(12, 80, 0)) == 0
