"""STL: the finished form, closed and true, as an outside reader finds it."""

import io
import math
from typing import Any

import numpy as np
import pytest
import trimesh
from exports_pieces import NASTY_NAMES, every_kind, goblet, small_pieces, vessel, worked
from hypothesis import HealthCheck, given, note, settings

from server.craft.document import parse_piece
from server.craft.errors import GeometryError
from server.craft.form.solids import body
from server.craft.plan import plan
from server.exports.model.closed import Body, revolve
from server.exports.model.finish import finished_body
from server.exports.stl import piece_stl


def _read(document: dict[str, Any]) -> trimesh.Trimesh:
    content = piece_stl(worked(document))
    assert len(content) == 84 + 50 * int.from_bytes(content[80:84], "little")
    return trimesh.load(io.BytesIO(content), file_type="stl")


def _closed(mesh: trimesh.Trimesh) -> None:
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0


def _inside(mesh: trimesh.Trimesh, point: np.ndarray) -> bool:
    """Whether the surface goes once round the point: the solid angles of its triangles."""
    a, b, c = np.moveaxis(mesh.triangles - point, 1, 0)
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    triple = np.einsum("ij,ij->i", a, np.cross(b, c))
    dots = [np.einsum("ij,ij->i", one, other) for one, other in ((a, b), (b, c), (c, a))]
    below = la * lb * lc + dots[0] * lc + dots[1] * la + dots[2] * lb
    return round(float(np.arctan2(triple, below).sum() / (2 * np.pi))) == 1


def test_the_goblet_is_one_closed_body_in_millimetres_z_up() -> None:
    mesh = _read(goblet())
    _closed(mesh)
    # 90 mm of stem and 95 mm of bowl, 100 mm wide at the rim.
    assert mesh.bounds.tolist() == pytest.approx(np.array([[-50, -50, 0], [50, 50, 185]]), abs=1e-4)


def test_its_volume_is_that_of_the_profile() -> None:
    document = goblet()
    work = worked(document).work
    true = sum(body(part.outside, part.inside, part.floor_mm).volume_mm3 for part in work.parts)
    # A polygon of n sides has sin(2π/n)/(2π/n) of its circle; the outline strays by 0.01 mm.
    step = 2 * math.pi / 144
    assert _read(document).volume == pytest.approx(true * math.sin(step) / step, rel=4e-4)


def test_every_kind_of_ring_at_once() -> None:
    document = every_kind()
    mesh = _read(document)
    _closed(mesh)
    said = sum(ring.volume_mm3 or 0 for ring in plan(parse_piece(document)).parts[0].rings)
    assert mesh.volume == pytest.approx(said, rel=2e-3)


def test_open_joints_are_open() -> None:
    rings = [
        {"id": "a", "thickness_mm": 20},
        {"id": "b", "thickness_mm": 10},
        {"id": "c", "thickness_mm": 30, "segments": 12, "gap": {"angle_deg": 10}},
        {"id": "d", "thickness_mm": 10},
    ]
    mesh = _read(vessel(rings))
    _closed(mesh)
    wall = 55.0
    at = np.radians([0.0, 4.0, 6.0, 15.0, 26.0, 34.0])
    points = np.stack([wall * np.cos(at), wall * np.sin(at), np.full(6, 45.0)], axis=1)
    assert [_inside(mesh, point) for point in points] == [False, False, True, True, False, False]


def test_parts_that_touch_in_a_circle_only_stay_closed() -> None:
    def cone(name: str, low: float, high: float, at: float) -> dict[str, Any]:
        points = [
            {"r_mm": low, "z_mm": at, "corner": True},
            {"r_mm": high, "z_mm": at + 20, "corner": True},
        ]
        return {"id": name, "kind": "disc", "outside": {"points": points}}

    tube = cone("tube", 30.0, 30.0, 20.0)
    tube["inside"] = {
        "points": [
            {"r_mm": 20, "z_mm": 20, "corner": True},
            {"r_mm": 10, "z_mm": 40, "corner": True},
        ]
    }
    document = {**goblet(), "joints": [], "stacks": [], "parts": [cone("foot", 40, 20, 0), tube]}
    mesh = _read(document)
    _closed(mesh)
    foot = math.pi * 20 / 3 * (40**2 + 40 * 20 + 20**2)
    wall = math.pi * 20 * 30**2 - math.pi * 20 / 3 * (20**2 + 20 * 10 + 10**2)
    assert mesh.volume == pytest.approx(foot + wall, rel=2e-3)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_pieces())
def test_random_pieces_are_closed_and_true(document: dict[str, Any]) -> None:
    note(str(document))
    rings = plan(parse_piece(document)).parts[0].rings
    said = sum(ring.volume_mm3 or 0 for ring in rings)
    try:
        mesh = _read(document)
    except GeometryError:
        assert said == 0
        return
    _closed(mesh)
    # Chords of the finest steps lose 0.03 %, the outline strays by a hundredth of a millimetre.
    assert mesh.volume == pytest.approx(said, rel=2e-3)


def test_more_open_segments_than_a_model_holds_are_refused_in_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("server.exports.model.pieces.MOST_TRIANGLES", 20_000)
    with pytest.raises(GeometryError, match="more segments than one model can hold"):
        piece_stl(worked(every_kind()))


def test_nothing_at_all_is_refused_in_words() -> None:
    document = vessel([{"id": "a", "thickness_mm": 10}, {"id": "b", "thickness_mm": 10}])
    for ring in document["parts"][0]["rings"]:
        ring["gap"] = {"angle_deg": 300}
    with pytest.raises(GeometryError, match="no wood"):
        piece_stl(worked(document))


def test_a_body_knows_when_it_is_open() -> None:
    whole = finished_body(worked(goblet()))
    assert whole.is_closed
    assert not Body(whole.vertices, whole.triangles[1:]).is_closed
    assert not Body(whole.vertices, np.empty((0, 3), int)).is_closed
    turned_over = whole.triangles.copy()
    turned_over[0] = turned_over[0, ::-1]
    assert not Body(whole.vertices, turned_over).is_closed


def test_a_revolved_square_is_a_ring() -> None:
    import shapely

    steps = 360
    ring = revolve([shapely.box(10, 0, 12, 5)], steps)
    step = 2 * math.pi / steps
    assert ring.volume_mm3 == pytest.approx(
        math.pi * (144 - 100) * 5 * math.sin(step) / step, rel=1e-6
    )


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_do_not_get_in(name: str) -> None:
    assert piece_stl(worked({**goblet(), "name": name})) == piece_stl(worked(goblet()))
    assert not piece_stl(worked(goblet())).startswith(b"solid")
