"""An audit of the glues: every number sourced, and within what was read or is practised."""

import pytest

from server.craft.glue.adhesives import (
    DEFAULT_GLUE,
    NUMBERS,
    Glue,
    UnknownGlueError,
    all_glues,
    glue,
)
from server.craft.wood.sources import SourceKind

GLUES = all_glues()

by_id = pytest.mark.parametrize("one", GLUES, ids=lambda one: one.id)


def test_the_usual_glue_stands_first() -> None:
    assert GLUES[0].id == DEFAULT_GLUE == "pva-yellow"
    assert len({one.id for one in GLUES}) == len(GLUES)


@by_id
def test_every_number_has_a_source_that_defers_to_the_label(one: Glue) -> None:
    assert set(one.sources) == set(NUMBERS)
    for source in one.sources.values():
        assert source.kind in {SourceKind.READ, SourceKind.COMMON_PRACTICE}
        assert "label governs" in source.text


@by_id
def test_times_are_times(one: Glue) -> None:
    assert one.open_minutes > 0
    assert 0 < one.press_minutes <= one.cure_hours * 60
    assert 0 <= one.rest_minutes <= one.cure_hours * 60
    assert 0 < one.least_temperature_c < 25
    assert one.hardens in {"drying", "moisture", "reaction"}
    assert one.waterborne == (one.hardens == "drying")


@pytest.mark.parametrize(
    ("glue_id", "quantity", "value"),
    [
        # U.S. Navy training manual 14119, chapter 3: vinyl resin glue from 50 °F on.
        ("pva-yellow", "least_temperature_c", (50 - 32) / 1.8),
        # A woodworking magazine's table of glues: open and clamp times; 60 °F for the white.
        ("pva-yellow", "open_minutes", 5),
        ("pva-yellow", "press_minutes", 30),
        ("pva-white", "open_minutes", 5),
        ("pva-white", "press_minutes", 60),
        ("pva-cross-linking", "open_minutes", 5),
        ("pva-cross-linking", "press_minutes", 60),
        ("hide-liquid", "open_minutes", 10),
        ("hide-liquid", "press_minutes", 12 * 60),
    ],
)
def test_what_was_read_is_what_is_said(glue_id: str, quantity: str, value: float) -> None:
    one = glue(glue_id)
    assert getattr(one, quantity) == pytest.approx(value)
    assert one.sources[quantity].kind is SourceKind.READ


def test_white_pva_asks_for_sixty_fahrenheit_rounded_up_to_whole_degrees() -> None:
    assert glue("pva-white").least_temperature_c == 16.0
    assert 15.0 < (60 - 32) / 1.8 <= 16.0


def test_nothing_else_claims_to_be_read() -> None:
    read = {
        (one.id, name)
        for one in GLUES
        for name, source in one.sources.items()
        if source.kind is SourceKind.READ
    }
    assert len(read) == 10


def test_an_unknown_glue_is_named() -> None:
    with pytest.raises(UnknownGlueError, match="wishes"):
        glue("wishes")
