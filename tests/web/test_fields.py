"""Form text becomes a value of the craft, or a message beside the field with the text kept."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.web.fields import MISSING, Fields
from server.web.lengths import field_text


def one(text: str, units: str = "mm") -> Fields:
    return Fields({"x": [text]}, units)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "units", "mm"),
    [
        ("19", "mm", 19.0),
        ("66,7", "mm", 66.7),
        ('2-5/8"', "mm", 66.675),
        ("3 7/16", "in", 87.3125),
        ("19 mm", "in", 19.0),
    ],
)
def test_a_length_is_read_in_the_units_of_the_piece(text: str, units: str, mm: float) -> None:
    fields = one(text, units)
    assert fields.length("x") == pytest.approx(mm, abs=1e-12)
    assert fields.ok


@pytest.mark.parametrize("text", ["", "abc", "1/0", "-4", "4000", "1e400", "nan", "0"])
def test_a_wrong_length_keeps_what_was_typed(text: str) -> None:
    fields = one(text)
    assert fields.length("x") is None
    assert fields.errors["x"]
    assert fields.typed["x"] == text


def test_an_optional_length_may_be_left_out() -> None:
    fields = one("  ")
    assert fields.length("x", required=False) is None
    assert fields.ok


@pytest.mark.parametrize(
    ("text", "value"), [("12", 12), ("12,0", 12), ("2.5", None), ("2", None), ("inf", None)]
)
def test_whole_numbers_within_their_limits(text: str, value: int | None) -> None:
    fields = one(text)
    assert fields.whole("x", low=3, high=360) == value
    assert fields.ok is (value is not None)


def test_the_first_message_stays() -> None:
    fields = one("")
    fields.length("x")
    fields.wrong("x", "later")
    assert fields.errors == {"x": MISSING}


def test_a_choice_must_be_on_the_list() -> None:
    fields = one("teal")
    assert fields.choice("x", ("in", "mm")) == "in"
    assert not fields.ok


@given(st.floats(min_value=0.1, max_value=3000), st.sampled_from(["in", "mm"]))
def test_a_length_written_into_a_field_comes_back(mm: float, units: str) -> None:
    fields = one(field_text(mm, units), units)  # type: ignore[arg-type]
    back = fields.length("x", low=0.0)
    assert back == pytest.approx(mm, abs=0.0013)
    assert fields.length("x", was=mm) == mm
