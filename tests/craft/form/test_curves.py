"""Curves: through their points, straight between corners, smooth elsewhere, never overshooting."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from round_forms import corners, dense, smooth

from server.craft.errors import CraftError
from server.craft.form.curves import Curve, CurvePoint

_sizes = st.floats(0, 500, allow_nan=False).map(lambda v: round(v, 3))
_points = st.lists(
    st.builds(CurvePoint, r_mm=_sizes, z_mm=_sizes, corner=st.booleans()), min_size=2, max_size=12
).filter(lambda points: len({(p.r_mm, p.z_mm) for p in points}) > 1)


@given(_points)
@settings(max_examples=300, deadline=None)
def test_a_span_stays_in_the_box_of_its_two_points_and_is_monotone(
    points: list[CurvePoint],
) -> None:
    curve = Curve.through(points)
    for span in curve.spans:
        inside = dense(Curve((), span[None]), 200)
        low, high = np.minimum(span[0], span[3]), np.maximum(span[0], span[3])
        assert (inside >= low - 1e-9).all()
        assert (inside <= high + 1e-9).all()
        assert ((np.diff(inside, axis=0) * np.sign(span[3] - span[0])) >= -1e-9).all()


@given(_points)
@settings(deadline=None)
def test_it_passes_through_every_point_in_order(points: list[CurvePoint]) -> None:
    curve = Curve.through(points)
    different = [points[0]]
    for point in points[1:]:
        if (point.r_mm, point.z_mm) != (different[-1].r_mm, different[-1].z_mm):
            different.append(point)
    ends = np.concatenate([curve.spans[:, 0], curve.spans[-1:, 3]])
    assert ends.tolist() == [[p.r_mm, p.z_mm] for p in different]


@given(_points)
@settings(deadline=None)
def test_the_direction_breaks_at_corners_only(points: list[CurvePoint]) -> None:
    curve = Curve.through(points)
    for point, before, after in zip(curve.points[1:-1], curve.spans, curve.spans[1:], strict=False):
        # One third of the chord times the slope, on either side.
        step_in = (before[3] - before[2]) / np.hypot(*(before[3] - before[0]))
        step_out = (after[1] - after[0]) / np.hypot(*(after[3] - after[0]))
        if not point.corner:
            assert step_in == pytest.approx(step_out, abs=1e-6)


def test_between_two_corners_it_is_straight() -> None:
    curve = corners((20, 0), (45, 60), (50, 95))
    assert curve.straight.all()
    assert curve.at(np.array([0]), np.array([0.5])) == pytest.approx(np.array([[32.5, 30.0]]))


def test_a_smooth_curve_bends() -> None:
    assert not smooth((20, 0), (45, 60), (50, 95)).straight.any()


def test_doubled_points_are_one_and_keep_the_corner() -> None:
    twice = Curve.through(
        [CurvePoint(20, 0), CurvePoint(45, 60), CurvePoint(45, 60, True), CurvePoint(50, 95)]
    )
    assert twice.spans.tolist() == corners((20, 0), (45, 60), (50, 95)).spans.tolist()


def test_one_point_is_no_curve() -> None:
    with pytest.raises(CraftError, match="two different points"):
        Curve.through([CurvePoint(20, 0), CurvePoint(20, 0, True)])


def test_a_shoulder_and_an_undercut_are_curves_like_others() -> None:
    curve = corners((30, 0), (30, 20), (50, 20), (50, 40), (40, 30), (40, 60))
    assert curve.is_simple
    assert curve.bounds == (30, 0, 50, 60)
    assert curve.radii_at(20) == (30, 50)
    assert curve.radii_at(35) == (40, 45, 50)


def test_crossing_touching_and_doubling_back_are_seen() -> None:
    assert not corners((10, 0), (30, 30), (10, 30), (30, 0)).is_simple
    assert not corners((10, 0), (10, 30), (10, 10)).is_simple
    assert not corners((10, 0), (30, 0), (30, 30), (10, 0)).is_simple
    assert smooth((10, 0), (30, 20), (25, 40), (40, 60)).is_simple


def test_extremes_count_level_parts_on_the_faces() -> None:
    curve = corners((30, 0), (30, 20), (50, 20), (40, 60))
    assert curve.radius_extremes(0, 20) == (30, 50)
    assert curve.radius_extremes(20, 40) == (30, 50)
    assert curve.radius_extremes(21, 40) == pytest.approx((45, 49.75))
    assert curve.radius_extremes(61, 80) is None


def test_chords_keep_to_the_sagitta_asked_for() -> None:
    curve = smooth((5, 0), (60, 10), (70, 60), (20, 90), (40, 120))
    chain = curve.polyline_within(0.01)
    fine = dense(curve)
    import shapely

    line = shapely.LineString(chain)
    assert shapely.distance(shapely.points(fine), line).max() <= 0.01
    assert len(chain) < 400


@pytest.mark.parametrize("z", [0.001, 10.0, 33.3, 59.999, 60.0, 95.0])
def test_radii_are_where_the_height_is_met(z: float) -> None:
    curve = smooth((20, 0), (45, 60), (50, 95))
    (r,) = curve.radii_at(z)
    fine = dense(curve, 20000)
    i = int(np.argmin(np.abs(fine[:, 1] - z)))
    assert r == pytest.approx(fine[i, 0], abs=0.01)
