"""Shop sheets: everything a turner needs without a screen, in words that can be found again."""

import json
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from exports_pieces import NASTY_NAMES, every_kind, goblet, small_pieces, worked
from hypothesis import HealthCheck, given, settings
from pdf_reader import ink, needs_poppler, sizes_mm, words

from server.craft.document import parse_piece
from server.craft.plan import plan
from server.exports.sheets.facts import MOST_ROWS, Facts, capped
from server.exports.sheets.pdf import sheets_pdf
from server.exports.templates.pdf import templates_pdf
from server.exports.typeset.paper import Paper

NOW = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)


def _sheets(document: dict[str, Any], paper: Paper = Paper.A4) -> bytes:
    return sheets_pdf(worked(document), plan(parse_piece(document)), paper, NOW)


def _facts(document: dict[str, Any]) -> Facts:
    return Facts(worked(document), plan(parse_piece(document)))


def test_the_whole_job_is_on_paper() -> None:
    pages = words(_sheets(goblet()))
    text = " ".join(" ".join(pages).split())
    for said in (
        "Orchard goblet",
        "Section at the left, elevation at the right",
        "Rings",
        "Cutting",
        "15.00°",
        "Gluing",
        "Bowl, lower on faceplate F1",
        "Joints between parts",
        "Full face shield",
        "no fingers near the blade",
        "respirator",
        "Makers’ manuals, local rules and licensed practice come first",
        "2026-05-02",
    ):
        assert said in text, said
    for number, page in enumerate(pages, 1):
        assert f"{number} / {len(pages)}" in " ".join(page.split())


def test_every_ring_is_in_the_table_and_in_a_stack() -> None:
    facts = _facts(every_kind())
    rings = [row["ring"] for row in facts.rings()]
    assert rings == ["9", "8", "7", "6", "5", "4", "3", "2", "1"]
    (stack,) = facts.stacks()
    assert [row["ring"] for row in stack["rings"]] == rings[::-1]


def test_rings_are_called_by_their_numbers_and_never_by_their_ids() -> None:
    document = goblet()
    renamed = json.loads(re.sub(r'"b([1-5])"', r'"id-\1-xyz"', json.dumps(document)))
    text = " ".join(" ".join(words(_sheets(renamed))).split())
    assert "xyz" not in text
    assert "Bowl ring 3" in text
    printed = " ".join(" ".join(words(templates_pdf(worked(renamed), Paper.A4, NOW))).split())
    assert "xyz" not in printed
    assert "Bowl ring 3" in printed


def test_settings_are_those_of_the_plan_in_the_turners_units() -> None:
    document = goblet()
    strips = plan(parse_piece(document)).strips
    rows = list(_facts(document).cuts())
    assert len(rows) == len(strips)
    row, strip = rows[0], strips[0]
    mitre, wide, edge = row["settings"]
    assert mitre == ["Mitre", "15.00°", ""]
    assert wide[2] == f"{strip.width_mm:.1f} mm"
    assert edge[1].endswith("″")
    metric = next(_facts({**document, "display_units": "mm"}).cuts())["settings"]
    assert metric[1] == ["Strip wide", f"{strip.width_mm:.1f} mm", wide[1]]


def test_a_stave_shows_both_angles() -> None:
    rows = [row for row in _facts(every_kind()).cuts() if row["kind"] == "Staves"]
    assert [name for name, *_ in rows[0]["settings"]] == [
        "Mitre",
        "Bevel",
        "Strip wide",
        "Long edge",
    ]


def test_a_stop_comes_first() -> None:
    document = goblet()
    document["parts"][0]["rings"][2]["spacer"]["thickness_mm"] = 45
    rows = list(_facts(document).checks())
    assert rows[0]["severity"] == "Stop"
    text = " ".join(" ".join(words(_sheets(document))).split())
    assert "What the plan says" in text


def test_glue_that_is_too_cold_is_said_at_the_stack() -> None:
    document = {**goblet(), "room": {"temperature_c": -5, "humidity_percent": 50}}
    assert "Too cold for this glue" in " ".join(words(_sheets(document)))


def test_very_long_lists_are_cut_and_say_so() -> None:
    found = capped([{"n": i} for i in range(MOST_ROWS + 7)])
    assert (len(found["rows"]), found["more"]) == (MOST_ROWS, 7)


@pytest.mark.skipif(needs_poppler, reason="pdftoppm is not installed here")
def test_it_is_black_on_white_with_margins(tmp_path: Path) -> None:
    content = _sheets(goblet(), Paper.LETTER)
    assert sizes_mm(content)[0] == pytest.approx((215.9, 279.4), abs=0.01)
    page = ink(content, 2, tmp_path)
    assert 0.001 < page.mean() < 0.2
    edge = int(11 / 25.4 * 600)
    assert not np.concatenate([page[:, :edge].ravel(), page[:, -edge:].ravel()]).any()


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_pieces())
def test_random_pieces_have_sheets(document: dict[str, Any]) -> None:
    assert len(sizes_mm(_sheets(document))) >= 3


def test_a_piece_of_spindles_only_has_sheets() -> None:
    document = {**goblet(), "joints": [], "stacks": []}
    document["parts"] = document["parts"][1:]
    text = " ".join(words(_sheets(document)))
    assert "Spindle blank" in text
    assert "Gluing" not in text


def test_a_line_on_the_axis_has_sheets_without_a_picture() -> None:
    document = {**goblet(), "joints": [], "stacks": []}
    document["parts"] = document["parts"][1:]
    for point in document["parts"][0]["outside"]["points"]:
        point["r_mm"] = 0
    assert "Nothing to draw yet" in " ".join(words(_sheets(document)))


def test_very_many_segments_get_the_profile() -> None:
    document = goblet()
    rings = [{"id": f"r{i}", "thickness_mm": 95 / 60, "segments": 360} for i in range(60)]
    document["parts"][0]["rings"], document["stacks"] = rings, []
    assert "Profile, right half" in " ".join(words(_sheets(document)))


def test_many_rings_get_a_picture_without_numbers() -> None:
    document = goblet()
    bowl = document["parts"][0]
    bowl["rings"] = [{"id": f"r{i}", "thickness_mm": 95 / 190} for i in range(190)]
    document["stacks"] = []
    assert "As it will stand" in " ".join(words(_sheets(document)))


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_harmless(name: str) -> None:
    document = goblet()
    document["name"] = document["parts"][0]["name"] = name
    document["stacks"][0]["name"] = document["stacks"][0]["faceplate"] = name
    pages = words(_sheets(document))
    assert len(pages) >= len(words(_sheets(goblet()))) - 1
    assert "Take care" in " ".join(pages)
