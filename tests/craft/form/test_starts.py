"""Starting forms are makeable at every sensible size: measured with shapely, not with our wall."""

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from server.craft.errors import CraftError
from server.craft.form.curves import Curve
from server.craft.form.starts import FAMILIES, starting_form

HOLLOW = [family.id for family in FAMILIES.values() if family.floor_share is not None]


@pytest.mark.parametrize("family", list(FAMILIES))
def test_a_family_keeps_its_height_and_diameter(family: str) -> None:
    form = starting_form(family, 120.0, 90.0, 4.0)
    _, z0, r1, z1 = Curve.through(form.outside).bounds
    assert (z0, z1) == (0.0, 120.0)
    assert 2 * r1 == pytest.approx(90.0, abs=0.01)


@example("urn", 289.2, 360.3, 3.36)  # wide, high and thin: the most points
@example("urn", 274.4, 315.8, 3.25)
@settings(max_examples=25, deadline=None)
@given(st.sampled_from(HOLLOW), st.floats(60, 300), st.floats(80, 400), st.floats(3, 8))
def test_the_wall_is_there_everywhere_and_nearly_as_asked(
    family: str, height: float, diameter: float, wall: float
) -> None:
    try:
        form = starting_form(family, height, diameter, wall)
    except CraftError:
        return  # a wall that leaves nothing open is refused in words
    assert form.inside is not None
    outside, inside = Curve.through(form.outside), Curve.through(form.inside)
    assert outside.is_simple
    assert inside.is_simple
    away = shapely.LineString(outside.polyline(64)).distance(
        shapely.LineString(inside.polyline(64))
    )
    assert away >= 0.8 * wall - 0.1
    assert len(form.inside) <= 25, "few enough to be pulled about by hand"


def test_an_unknown_family_is_refused() -> None:
    with pytest.raises(CraftError, match="no starting form"):
        starting_form("teapot")


def test_a_floor_thicker_than_the_height_is_refused() -> None:
    with pytest.raises(CraftError, match="floor"):
        starting_form("bowl", 20.0, 100.0, 15.0)
