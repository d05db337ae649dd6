"""How long the geometry takes for the largest pieces: 200 rings of 72 segments.

Curves and rings are made anew for every round: what was once worked out of them is kept.
"""

from collections.abc import Callable
from itertools import count, pairwise
from typing import Any

import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from round_forms import corners, smooth

from server.craft.form.curves import Curve
from server.craft.form.offsets import inside_offset
from server.craft.form.outline import half_section, ring_sections
from server.craft.form.planes import common_faces
from server.craft.form.slabs import ring_radii
from server.craft.form.solids import slab_solids
from server.craft.form.walls import floor_thickness, least_wall
from server.craft.rings.mesh import ring_mesh
from server.craft.rings.segments import (
    RingGeometry,
    flat_ring,
    joint_angles_deg,
    least_joint_angle_deg,
    ring_face,
    rough_overlaps_mm2,
)

_PLANES = [5.0 * k for k in range(201)]
_ROUNDS = 30
_TURN = count(1)


def _curves() -> tuple[Curve, Curve]:
    outside = smooth((60, 0), (150, 300), (90, 600), (200, 900), (190, 1000))
    return outside, smooth((50, 12), (140, 300), (80, 600), (190, 900), (180, 1000))


def _rings(segments: int = 72, **joints: float) -> list[RingGeometry]:
    """Rings that no round before had: a millionth of a millimetre wider each time."""
    wider = 100 + 1e-6 * next(_TURN)
    return [
        flat_ring(segments, wider + 0.1 * k, wider - 20 + 0.1 * k, **joints) for k in range(200)
    ]


def _afresh(
    benchmark: BenchmarkFixture, timed: Callable[..., Any], make: Callable[..., Any]
) -> Any:
    """What `timed` gives for things that `make` makes before each round, untimed."""
    return benchmark.pedantic(timed, setup=lambda: (make(), {}), rounds=_ROUNDS)


def test_radii_of_200_rings(benchmark: BenchmarkFixture) -> None:
    radii = _afresh(
        benchmark, lambda outside, inside: ring_radii(outside, inside, None, _PLANES), _curves
    )
    assert len(radii) == 200


def test_wood_of_200_rings(benchmark: BenchmarkFixture) -> None:
    solids = _afresh(
        benchmark, lambda outside, inside: slab_solids(outside, inside, None, _PLANES), _curves
    )
    assert all(ring.volume_mm3 > 0 for ring in solids)


def test_common_faces_of_200_rings(benchmark: BenchmarkFixture) -> None:
    faces = _afresh(
        benchmark,
        lambda outside, inside: common_faces(outside, inside, None, _PLANES[1:-1]),
        _curves,
    )
    assert all(face.width_mm > 5 for face in faces)


def test_200_rings_of_72(benchmark: BenchmarkFixture) -> None:
    rings = benchmark(lambda: [flat_ring(72, 100 + 0.1 * k, 80 + 0.1 * k) for k in range(200)])
    assert len(rings) == 200


@pytest.mark.parametrize("other", [72, 71])
def test_rough_overlaps_of_200_rings(benchmark: BenchmarkFixture, other: int) -> None:
    def overlaps(lower: list[RingGeometry], upper: list[RingGeometry]) -> list[float]:
        pairs = zip(lower, upper[1:], strict=False)
        return rough_overlaps_mm2([(ring_face(a), ring_face(b, 0.5)) for a, b in pairs])

    assert min(_afresh(benchmark, overlaps, lambda: (_rings(), _rings(other)))) > 0


def test_rough_overlaps_of_200_rings_with_spacers(benchmark: BenchmarkFixture) -> None:
    def overlaps(rings: list[RingGeometry]) -> list[float]:
        faces = [ring_face(ring, 0.5 * (k % 2)) for k, ring in enumerate(rings)]
        return rough_overlaps_mm2([*pairwise(faces)])

    assert min(_afresh(benchmark, overlaps, lambda: (_rings(spacer_mm=1),))) > 0


def test_joint_angles_of_200_rings(benchmark: BenchmarkFixture) -> None:
    def angles(rings: list[RingGeometry]) -> list[float]:
        joints = [joint_angles_deg(ring, 0.5 * (k % 2)) for k, ring in enumerate(rings)]
        return [least_joint_angle_deg(a, b) for a, b in pairwise(joints)]

    assert min(_afresh(benchmark, angles, lambda: (_rings(),))) == pytest.approx(2.5)


def test_walls_and_floor_of_a_tall_vessel(benchmark: BenchmarkFixture) -> None:
    spots = _afresh(benchmark, lambda *form: (least_wall(*form), floor_thickness(*form)), _curves)
    assert all(spot is not None and spot.thickness_mm > 0 for spot in spots)


def test_a_proposed_inside(benchmark: BenchmarkFixture) -> None:
    assert len(benchmark(inside_offset, _curves()[0], 8.0, 12.0)) > 5


def test_meshes_of_200_rings(benchmark: BenchmarkFixture) -> None:
    sections, rings = ring_sections(half_section(*_curves(), None), _PLANES), _rings()
    meshes = benchmark.pedantic(
        lambda: [ring_mesh(s, r) for s, r in zip(sections, rings, strict=True)], rounds=3
    )
    assert sum(len(mesh.triangles) for mesh in meshes) > 200 * 72 * 12


def test_meshes_of_a_small_vessel(benchmark: BenchmarkFixture) -> None:
    outside, inside = smooth((20, 0), (45, 60), (50, 95)), corners((0, 36), (24, 36), (44, 95))
    sections = ring_sections(half_section(outside, inside, None), [19.0 * k for k in range(6)])
    ring = flat_ring(12, 53, 0)
    meshes = benchmark(lambda: [ring_mesh(section, ring) for section in sections])
    assert len(meshes) == 5
