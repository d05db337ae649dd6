"""Typed text becomes one harmless line, and a file name that every system takes."""

import re
import unicodedata

import pytest
from exports_pieces import NASTY_NAMES
from hypothesis import given
from hypothesis import strategies as st

from server.exports.words import file_stem, one_line


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("  two\r\n lines\there ", "two lines here"),
        ("bell\x07 null\x00", "bell null"),
        ("\u202edlog\u202c bowl", "dlog bowl"),
        ("קערה 😀 ﷺ", "קערה 😀 ﷺ"),
        ("a\u2028b\u00a0c", "a b c"),
    ],
)
def test_one_line(typed: str, line: str) -> None:
    assert one_line(typed) == line


def test_long_text_ends_in_an_ellipsis() -> None:
    assert one_line("word " * 5000, 12) == "word word w…"
    assert one_line("x" * 12, 12) == "x" * 12


@given(st.text(st.characters(codec="utf-8"), max_size=400), st.integers(1, 80))
def test_any_text_is_one_writable_line(text: str, longest: int) -> None:
    line = one_line(text, longest)
    assert len(line) <= longest
    assert line == line.strip()
    assert not any(unicodedata.category(mark) in {"Cc", "Cs"} for mark in line)


@given(st.text(st.characters(codec="utf-8"), max_size=400))
def test_any_name_is_a_plain_file_name(text: str) -> None:
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", file_stem(text))
    assert len(file_stem(text)) <= 60


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("Orchard goblet", "orchard-goblet"),
        ("Schüssel Nº 3", "schussel-no-3"),
        ("../../etc/passwd", "etc-passwd"),
        ("CON", "piece"),
        ("lpt1", "piece"),
        ("קערה", "piece"),
        ("....", "piece"),
    ],
)
def test_file_stems(name: str, stem: str) -> None:
    assert file_stem(name) == stem


def test_nasty_names_stay_short() -> None:
    assert max(len(one_line(name)) for name in NASTY_NAMES) <= 200
