"""Proposals: they fill the form, fit the boards and take no more wood than a careful hand list.

The hand list is made by fixed rules: full rings from the bottom, the rest on top.
"""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from server.craft.errors import CraftError
from server.craft.form.curves import Curve
from server.craft.form.slabs import ring_radii
from server.craft.form.starts import FAMILIES, starting_form
from server.craft.rings.propose import Form, Kept, Wish, propose_rings

HOLLOW = [family.id for family in FAMILIES.values() if family.floor_share is not None]


def form_of(family: str, height: float, diameter: float) -> Form:
    start = starting_form(family, height, diameter)
    inside = Curve.through(start.inside) if start.inside else None
    return Form(Curve.through(start.outside), inside, None)


def wood_mm3(form: Form, wish: Wish, thicknesses: list[float], count: int) -> float:
    """Strips by the trade's formulas, written out here a second time."""
    planes = [form.bottom_mm]
    for thickness in thicknesses:
        planes.append(planes[-1] + thickness)
    theta = math.pi / count
    total = 0.0
    for slab, thickness in zip(
        ring_radii(form.outside, form.inside, form.floor_mm, planes), thicknesses, strict=True
    ):
        assert slab.outside_mm is not None
        big = slab.outside_mm + wish.outside_mm
        small = max(0.0, slab.inside_mm - wish.inside_mm) if slab.inside_mm > 0 else 0.0
        edge, width = 2 * big * math.tan(theta), big - small * math.cos(theta)
        slant = width * math.tan(theta)
        length = count * (edge - slant) + slant + (count + 1) * wish.kerf_mm / math.cos(theta)
        total += length * width * (thickness + wish.spent_mm)
    return total


@settings(max_examples=50, deadline=None)
@given(st.sampled_from(HOLLOW), st.floats(60, 240), st.floats(100, 320), st.floats(10, 25))
def test_fifty_profiles(family: str, height: float, diameter: float, thickest: float) -> None:
    try:
        form = form_of(family, height, diameter)
    except CraftError:
        assume(False)
    wish = Wish(thickest_mm=thickest, spent_mm=2.1)
    rings = propose_rings(form, wish)
    assert sum(r.thickness_mm for r in rings) == pytest.approx(form.top_mm, abs=1e-6)
    assert max(r.thickness_mm for r in rings) <= thickest + 1e-9
    assert all(rings[k].phase != rings[k + 1].phase for k in range(len(rings) - 1))
    full = math.ceil(form.top_mm / thickest - 1e-9)
    rest = form.top_mm - (full - 1) * thickest
    if rest >= 3.0:
        by_hand = [thickest] * (full - 1) + [rest]
        count = rings[0].segments
        proposed = wood_mm3(form, wish, [r.thickness_mm for r in rings], count)
        assert proposed <= wood_mm3(form, wish, by_hand, count) * (1 + 1e-9)


def test_a_form_wider_than_every_board_is_refused() -> None:
    form = form_of("platter", 30, 300)  # its solid middle needs half the diameter
    with pytest.raises(CraftError, match="wide enough"):
        propose_rings(form, Wish(thickest_mm=19, widest_mm=40))


@pytest.mark.parametrize("widest", [52.0, 60.0, 90.0])
def test_no_ring_needs_a_wider_board_than_there_is(widest: float) -> None:
    form = form_of("goblet-bowl", 110, 90)
    wish = Wish(thickest_mm=19, widest_mm=widest)
    rings = propose_rings(form, wish)
    planes = [0.0]
    for ring in rings:
        planes.append(planes[-1] + ring.thickness_mm)
    for slab, ring in zip(ring_radii(form.outside, form.inside, None, planes), rings, strict=True):
        big = (slab.outside_mm or 0) + wish.outside_mm
        small = max(0.0, slab.inside_mm - wish.inside_mm) if slab.inside_mm else 0.0
        width = big - small * math.cos(math.pi / ring.segments)
        assert width <= widest + 1e-6


def test_the_wanted_edge_decides_the_count() -> None:
    form = form_of("bowl", 100, 240)
    rings = propose_rings(form, Wish(thickest_mm=19, edge_mm=40))
    edge = 2 * 123 * math.tan(math.pi / rings[0].segments)
    assert rings[0].segments % 2 == 0
    assert edge == pytest.approx(40, rel=0.06)


def test_what_is_kept_stays_where_it_is() -> None:
    form = form_of("vase", 200, 140)
    rings = propose_rings(form, Wish(thickest_mm=19), [Kept(90, 110), Kept(40, 46)])
    at = 0.0
    seen = {}
    for ring in rings:
        if ring.kept is not None:
            seen[ring.kept] = (at, at + ring.thickness_mm)
        at += ring.thickness_mm
    assert seen[0] == pytest.approx((40, 46))
    assert seen[1] == pytest.approx((90, 110))
    assert at == pytest.approx(200)


def test_kept_rings_that_do_not_fit_are_said_so() -> None:
    form = form_of("bowl", 60, 200)
    with pytest.raises(CraftError, match="higher than the form"):
        propose_rings(form, Wish(thickest_mm=19), [Kept(50, 70)])
    with pytest.raises(CraftError, match="3 mm thick"):
        propose_rings(form, Wish(thickest_mm=1))
