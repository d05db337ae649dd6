"""Lengths on a page. The marks are worked by hand from 1 in = 25.4 mm."""

import re

import pytest

from server.web.lengths import diagonal, field_text, mark_error, ruled_down, stacked


def words(html: str) -> str:
    """What a screen reader would read: without the parts hidden from it."""
    spoken = re.sub(r'<span class="fr" aria-hidden="true">.*?</span></span>', "", html)
    return re.sub(r"<[^>]+>", "", spoken)


@pytest.mark.parametrize(
    ("mm", "said"),
    [(44.847, "1 49/64″"), (19.05, " 3/4″"), (25.4, "1″"), (-12.7, "− 1/2″"), (0.0, "0″")],
)
def test_stacked_inches_are_readable_without_eyes(mm: float, said: str) -> None:
    assert words(stacked(mm)) == said


def test_millimetres_carry_their_unit_once() -> None:
    assert stacked(44.847, "mm") == "44.8<small>mm</small>"
    assert diagonal(44.847, "mm") == "44.8 mm"


def test_a_fraction_in_running_text() -> None:
    assert diagonal(66.675) == '<span class="dg">2<span>5/8</span>″</span>'


def test_how_far_the_mark_is_off() -> None:
    assert mark_error(19.05) == "mark is exact"
    assert mark_error(26.75) == "mark is −0.2 mm"  # 1 3/64 in is 26.590625 mm
    assert mark_error(44.7) == "mark is +0.1 mm"  # 1 49/64 in is 44.846875 mm


def test_a_field_says_a_mark_as_a_fraction_and_anything_else_exactly() -> None:
    assert field_text(19.05, "in") == "3/4"
    assert field_text(20, "in") == "0.7874"
    assert field_text(19, "mm") == "19"
    assert field_text(None) == ""


def test_what_a_rule_does_not_show_is_left_out() -> None:
    assert field_text(ruled_down(23.3, "in"), "in") == "29/32"
    assert field_text(ruled_down(23.3, "mm"), "mm") == "23"
    assert field_text(ruled_down(19.05, "in"), "in") == "3/4"
    assert field_text(ruled_down(22.5, "mm"), "mm") == "22.5"
