"""The wood that meets at a glue plane."""

import math

import numpy as np
import pytest
import shapely
from round_forms import corners, dense, moved_in, planes, random_outside

from server.craft.form.curves import Curve
from server.craft.form.planes import CommonFace, common_faces, wood_at


def common_face(outside: Curve, inside: Curve | None, floor: float | None, z: float) -> CommonFace:
    (face,) = common_faces(outside, inside, floor, [z])
    return face


_CUP = corners((50, 0), (50, 80))


def test_a_wall_meets_itself() -> None:
    inside = corners((0, 20), (40, 20), (40, 80))
    assert common_face(_CUP, inside, None, 50).annuli == ((40, 50),)
    assert common_face(_CUP, inside, None, 50).width_mm == 10
    assert common_face(_CUP, inside, None, 10).annuli == ((0, 50),)


def test_at_the_floor_only_the_wall_is_common() -> None:
    inside = corners((0, 20), (40, 20), (40, 80))
    assert wood_at(_CUP, inside, None, [20], "below") == [((0, 50),)]
    assert wood_at(_CUP, inside, None, [20], "above") == [((40, 50),)]
    assert common_face(_CUP, inside, None, 20).annuli == ((40, 50),)
    assert common_face(_CUP, inside, 30.0, 30).annuli == ((40, 50),)
    assert common_face(_CUP, inside, 30.0, 29).annuli == ((0, 50),)


def test_shoulders_leave_the_narrower_face() -> None:
    outside = corners((30, 0), (30, 20), (50, 20), (50, 60))
    assert common_face(outside, None, None, 20).annuli == ((0, 30),)


def test_nothing_is_common_where_the_wall_is_cut_through() -> None:
    inside = corners((20, 0), (20, 20), (45, 20), (45, 80))
    outside = corners((30, 0), (30, 20), (50, 20), (50, 80))
    face = common_face(outside, inside, None, 20)
    assert face.annuli == ()
    assert face.width_mm == 0


def test_an_undercut_gives_two_annuli() -> None:
    outside = corners((30, 0), (60, 40), (60, 50), (50, 50), (50, 20), (20, 20), (20, 80))
    face = common_face(outside, None, None, 35)
    assert np.array(face.annuli) == pytest.approx(np.array([(0, 20), (50, 56.25)]))
    assert face.width_mm == 20


@pytest.mark.parametrize("seed", range(100))
def test_random_forms_agree_with_polygons_just_beside_the_plane(seed: int) -> None:
    outside = random_outside(seed)
    inside = moved_in(outside, [4.0] * len(outside.points))
    shapes = []
    for curve in (outside, inside):
        line = dense(curve, 200)
        shapes.append(shapely.Polygon([(0, line[0, 1]), *line, (0, line[-1, 1])]).buffer(0))
    for z in planes(12.7, 7)[1:-1]:
        z = round(z / 12.7) * 12.7
        for side, off in (("below", -1e-6), ("above", 1e-6)):
            level = shapely.LineString([(0, z + off), (1e3, z + off)])
            # Wood by even and odd: in one of the two shapes, not in both.
            wood = shapely.intersection(level, shapely.symmetric_difference(*shapes))
            (found,) = wood_at(outside, inside, None, [z], side)  # type: ignore[arg-type]
            length = math.fsum(big - small for small, big in found)
            # A form that leaves the plane level needs room: 1e-6 mm beside it is far along it.
            assert length == pytest.approx(wood.length, abs=0.5)
