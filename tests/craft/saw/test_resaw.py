"""Boards resawn into leaves, against sums made by hand and the independent checker."""

from typing import Any

import pytest
from cutting_cases import board, request, strip
from cutting_checker import faults
from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.errors import FieldError
from server.craft.saw.layout import cut_layout
from server.craft.saw.request import CuttingRequest
from server.craft.saw.resaw import leaf_mm, most_leaves, resawn


def asked(**more: Any) -> CuttingRequest:
    body = request(
        [strip("s1", count=40)],
        [board("thick", **more)],
        saw={"rip_kerf_mm": 2.4},
        time_limit_s=0.2,
    )
    return CuttingRequest.model_validate(body)


def test_two_leaves_of_a_two_inch_board() -> None:
    """50.8 − 2.4 = 48.4, in two: 24.2 each; both are worth what the board is."""
    (leaf,) = resawn(asked(thickness_mm=50.8, leaves=2, count=3)).rack
    assert leaf.thickness_mm == pytest.approx(24.2)
    assert leaf.count == 6
    assert 2 * leaf.thickness_mm * leaf.price_per_board_foot == pytest.approx(50.8 * 6.5)


@settings(deadline=None, max_examples=40, derandomize=True)
@given(st.floats(20, 120), st.floats(3, 30), st.floats(0.5, 4))
def test_as_many_leaves_as_fit_and_no_more(thick: float, needed: float, kerf: float) -> None:
    leaves = most_leaves(thick, needed, kerf)
    if leaves:
        assert leaf_mm(thick, leaves, kerf) >= needed - 1e-6
    assert leaf_mm(thick, leaves + 1, kerf) < needed + 1e-6


def test_leaves_and_kerfs_make_up_the_board() -> None:
    for leaves in (2, 3, 5):
        whole = leaves * leaf_mm(60.0, leaves, 2.4) + (leaves - 1) * 2.4
        assert whole == pytest.approx(60.0)


def test_a_thick_board_serves_twice_as_many_thin_strips() -> None:
    """19 mm strips from a 50.8 mm board: whole, most of it is planed away; resawn, half is left."""
    whole = asked(thickness_mm=50.8)
    leaves = resawn(asked(thickness_mm=50.8, leaves=2))
    at_once, thin = (cut_layout(one, lambda: 0.0) for one in (whole, leaves))
    assert thin.cost < 0.6 * at_once.cost
    assert {laid.id for laid in thin.boards} == {"thick"}
    assert faults(leaves.model_dump(), thin.as_json()) == []


def test_nothing_changes_where_nobody_asked() -> None:
    plain = asked(thickness_mm=50.8)
    assert resawn(plain) is plain


def test_a_board_that_would_be_all_kerf_is_refused() -> None:
    with pytest.raises(FieldError) as no:
        resawn(asked(thickness_mm=20, leaves=9))
    assert no.value.path == "/rack/0/leaves"
