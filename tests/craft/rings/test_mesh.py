"""Meshes of finished rings: every piece closed, outward, and with its share of the wood."""

import math

import numpy as np
import pytest
import trimesh
from round_forms import corners, moved_in, planes, random_outside, smooth

from server.craft.form.outline import half_section, ring_sections
from server.craft.form.solids import slab_solids
from server.craft.rings.mesh import PLUG, SPACER, RingMesh, ring_mesh
from server.craft.rings.segments import RingGeometry, flat_ring

_OUTSIDE = smooth((20, 0), (45, 60), (50, 95))
_INSIDE = corners((0, 30), (24, 30), (34, 60), (44, 95))
_PLANES = [0.0, 19.0, 38.0, 57.0, 76.0, 95.0]
_SECTIONS = ring_sections(half_section(_OUTSIDE, _INSIDE, None), _PLANES)
_VOLUMES = [ring.volume_mm3 for ring in slab_solids(_OUTSIDE, _INSIDE, None, _PLANES)]


def _pieces(mesh: RingMesh) -> dict[int, trimesh.Trimesh]:
    """Each owner's triangles by themselves; points that coincide stay apart, as they are."""
    made = {}
    for owner in np.unique(mesh.owner):
        triangles = mesh.triangles[mesh.owner == owner]
        used, numbers = np.unique(triangles, return_inverse=True)
        made[int(owner)] = trimesh.Trimesh(
            mesh.vertices[used], numbers.reshape(-1, 3), process=False, validate=False
        )
    return made


def _volumes(mesh: RingMesh) -> dict[int, float]:
    """Volumes of the pieces, after seeing that each is closed and turned outward."""
    volumes = {}
    for owner, piece in _pieces(mesh).items():
        assert piece.is_watertight
        assert piece.is_winding_consistent
        assert piece.area_faces.min() > 0
        volumes[owner] = float(piece.volume)
        assert volumes[owner] > 0
    return volumes


@pytest.mark.parametrize("k", range(5))
def test_segments_are_closed_and_add_up_to_the_ring(k: int) -> None:
    volumes = _volumes(ring_mesh(_SECTIONS[k], flat_ring(12, 60, 0), 0.3))
    assert sorted(volumes) == list(range(12))
    assert math.fsum(volumes.values()) == pytest.approx(_VOLUMES[k], rel=1e-3)
    assert np.ptp(list(volumes.values())) < 1e-6 * _VOLUMES[k]


@pytest.mark.parametrize("k", range(5))
def test_a_disc_is_one_closed_piece(k: int) -> None:
    volumes = _volumes(ring_mesh(_SECTIONS[k]))
    assert list(volumes) == [0]
    assert volumes[0] == pytest.approx(_VOLUMES[k], rel=1e-3)


def test_shares_have_wood_in_proportion() -> None:
    volumes = _volumes(ring_mesh(_SECTIONS[3], flat_ring(24, 60, 0, shares=[3, 1])))
    assert volumes[0] == pytest.approx(_VOLUMES[3] * 11.25 / 180, rel=2e-3)
    assert volumes[1] == pytest.approx(_VOLUMES[3] * 3.75 / 180, rel=2e-3)


def test_spacers_are_strips_of_their_thickness() -> None:
    ring = flat_ring(12, 60, 30, spacer_mm=1.5)
    volumes = _volumes(ring_mesh(_SECTIONS[3], ring))
    assert set(volumes) == {*range(12), SPACER}
    assert math.fsum(volumes.values()) == pytest.approx(_VOLUMES[3], rel=1e-3)
    area = _SECTIONS[3].area
    # The strip's faces reach nearer to the axis than its middle by the width of the bow: little.
    assert volumes[SPACER] == pytest.approx(12 * 1.5 * area, rel=2e-3)


def test_gaps_are_left_out() -> None:
    open_wedge = _volumes(ring_mesh(_SECTIONS[3], flat_ring(12, 60, 30, gap_angle_deg=4)))
    assert math.fsum(open_wedge.values()) == pytest.approx(_VOLUMES[3] * 26 / 30, rel=1e-3)
    parallel = _volumes(ring_mesh(_SECTIONS[3], flat_ring(12, 60, 30, gap_width_mm=1.5)))
    lost = 12 * 1.5 * _SECTIONS[3].area
    assert math.fsum(parallel.values()) == pytest.approx(_VOLUMES[3] - lost, rel=1e-3)


def test_joint_faces_lie_where_the_saw_cuts() -> None:
    mesh = ring_mesh(_SECTIONS[3], flat_ring(12, 60, 30, gap_width_mm=3), 0.5)
    own = mesh.vertices[np.unique(mesh.triangles[mesh.owner == 0])]
    # Segment 0 at half a pitch runs from 15° to 45°, each face 1.5 mm inside the radial plane.
    for angle, side in ((15, 1), (45, -1)):
        a = math.radians(angle)
        beside = side * (own[:, :2] @ [-math.sin(a), math.cos(a)])
        assert beside.min() == pytest.approx(1.5, abs=1e-9)


def test_solid_rings_with_spacers_leave_their_middle_to_the_plug() -> None:
    ring = flat_ring(12, 60, 0, spacer_mm=1.5)
    bare = _volumes(ring_mesh(_SECTIONS[0], ring))
    hole = ring.centre_hole_mm
    left = math.pi * hole**2 * 19
    assert math.fsum(bare.values()) == pytest.approx(_VOLUMES[0] - left, rel=2e-3)
    filled = _volumes(ring_mesh(_SECTIONS[0], ring, plug_mm=12))
    assert filled[PLUG] == pytest.approx(math.pi * 36 * 19, rel=1e-3)
    assert math.fsum(filled.values()) == pytest.approx(_VOLUMES[0], rel=1e-3)


@pytest.mark.parametrize("seed", range(24))
def test_random_forms_are_closed_and_add_up(seed: int) -> None:
    rng = np.random.default_rng(seed)
    outside = random_outside(seed)
    inside = moved_in(outside, [6.0] * len(outside.points))
    levels = planes(12.7, 7)
    sections = ring_sections(half_section(outside, inside, None), levels)
    count = int(rng.choice([6, 12, 16]))
    ring: RingGeometry = flat_ring(count, 130, float(rng.choice([0.0, 60.0])))
    for section in sections:
        found = math.fsum(_volumes(ring_mesh(section, ring, 0.25)).values())
        turned = 2 * math.pi * section.area * section.centroid.x if section.area else 0.0
        # Against Pappus on the very section: only the chords round the axis differ.
        assert found == pytest.approx(turned, rel=5e-4, abs=1.0)


def test_no_wood_is_no_mesh() -> None:
    empty = ring_sections(half_section(_OUTSIDE, _INSIDE, None), [100.0, 120.0])
    mesh = ring_mesh(empty[0], flat_ring(12, 60, 0))
    assert (len(mesh.vertices), len(mesh.triangles), len(mesh.owner)) == (0, 0, 0)
    assert len(ring_mesh(empty[0]).triangles) == 0


def test_types_and_units() -> None:
    mesh = ring_mesh(_SECTIONS[2], flat_ring(12, 60, 20))
    assert mesh.vertices.dtype == np.float64
    assert np.issubdtype(mesh.triangles.dtype, np.integer)
    assert mesh.vertices[:, 2].min() == pytest.approx(38)
    assert mesh.vertices[:, 2].max() == pytest.approx(57)
    assert mesh.triangles.max() < len(mesh.vertices)
