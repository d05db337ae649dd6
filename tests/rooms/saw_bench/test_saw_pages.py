"""The saw bench over HTTP: what it shows, what it refuses, how its layout is kept."""

import re
import time

import pytest
from fastapi.testclient import TestClient
from saw_bench_help import laid_out, rack_id, say
from saw_pieces import band_ring, boards_for

from server.demo import demo_piece

WOOD = "ash-white"


@pytest.fixture
def bench(client: TestClient) -> str:
    """A piece of one ring, and two boards for it; its address at the saw."""
    for board in boards_for(WOOD):
        assert client.post("/api/rack", json=board).status_code == 201
    piece = client.post("/api/pieces", json=band_ring("Band", WOOD)).json()["id"]
    return f"/pieces/{piece}/saw-bench"


def test_the_ring_is_there_with_its_settings(client: TestClient, bench: str) -> None:
    """R 60, r 48, 12 segments: edge 2·60·tan 15° = 32.154, width 60 − 48·cos 15° = 13.636."""
    page = client.get(bench).text
    assert "15.00°" in page
    assert "24 cuts" in page
    assert "sum 360°" in page
    assert "32.2" in page
    assert "13.6" in page
    assert "At the saw" in page


def test_the_bare_address_leads_to_the_piece_worked_on(client: TestClient, bench: str) -> None:
    say(client, bench, "cut", "r1", data={"count": 1})
    assert client.get("/saw-bench", follow_redirects=False).headers["location"] == bench


def test_one_that_was_cut_without_a_board_is_one(client: TestClient, bench: str) -> None:
    say(client, bench, "cut", "r1", data={"count": 1})
    laid_out(client, bench)
    page = client.get(f"{bench}/boards").text
    assert "Cut from other wood" in page
    assert "<small>1 segment</small>" in page


def test_a_label_has_the_stop_in_both_units_and_a_blank_its_length(client: TestClient) -> None:
    piece = client.post("/api/pieces", json=demo_piece() | {"display_units": "mm"}).json()["id"]
    page = client.get(f"/pieces/{piece}/saw-bench/labels").text
    strips = client.get(f"/api/pieces/{piece}/plan").json()["strips"]
    segment = next(strip for strip in strips if strip["kind"] == "segment")
    edge = f"{segment['outer_edge_mm']:.1f}"
    assert re.search(rf"stop {edge}\smm \(.+″", page)
    assert not re.search(rf"\({edge}\smm\)", page)
    blank = next(strip for strip in strips if strip["kind"] == "spindle")
    assert re.search(rf"long {blank['outer_edge_mm']:.1f}\smm \(", page)


def test_an_exchange_gets_only_the_sheet(client: TestClient, bench: str) -> None:
    part = client.get(bench, headers={"HX-Request": "true"}).text
    assert "<html" not in part
    assert 'id="bench"' in part


def test_unknown_pieces_and_rings(client: TestClient, bench: str) -> None:
    assert client.get("/pieces/none/saw-bench").status_code == 404
    assert client.get(f"{bench}?ring=none&strip=none").status_code == 200
    assert client.post(f"{bench}/boards/dance").status_code == 404


def test_a_piece_without_rings_says_so(client: TestClient) -> None:
    document = band_ring("Empty", WOOD)
    document["parts"][0]["rings"] = []
    piece = client.post("/api/pieces", json=document).json()["id"]
    for place in ("", "/boards", "/sled", "/labels", "/band"):
        assert client.get(f"/pieces/{piece}/saw-bench{place}").status_code == 200, place
    assert "Nothing to saw yet" in client.get(f"/pieces/{piece}/saw-bench").text


def test_an_empty_rack_says_what_is_short(client: TestClient) -> None:
    piece = client.post("/api/pieces", json=band_ring("Bare", WOOD)).json()["id"]
    page = laid_out(client, f"/pieces/{piece}/saw-bench")
    assert "The rack is short" in page
    assert "lacks 13 of 13" in page


def test_a_sawn_board_leaves_its_rests_and_undo_brings_it_back(
    client: TestClient, bench: str
) -> None:
    page = laid_out(client, bench)
    assert page.count('class="board"') == 1
    used = say(
        client,
        bench,
        "used",
        rack_id(client, "Short one"),
        data={"count": 1, "pieces": [{"strip": f"r1/{WOOD}", "count": 13}]},
    )
    assert "Everything is sawn" in laid_out(client, bench)
    assert "Short one" not in client.get("/lumber-rack/rack.csv").text
    say(client, bench, "undone", used["subject"], undoes=used["id"])
    assert "Everything is sawn" not in laid_out(client, bench)
    assert "Short one" in client.get("/lumber-rack/rack.csv").text


def test_broken_segments_beyond_the_spare_one_are_laid_out_again(
    client: TestClient, bench: str
) -> None:
    laid_out(client, bench)
    say(
        client,
        bench,
        "used",
        rack_id(client, "Short one"),
        data={"count": 1, "pieces": [{"strip": f"r1/{WOOD}", "count": 13}]},
    )
    say(client, bench, "cut", "r1", data={"broken": 3, "strip": f"r1/{WOOD}"})
    page = laid_out(client, bench)
    assert "2 segments" in page
    assert "Wide one" in page


def test_a_ring_drawn_wider_is_laid_out_anew(client: TestClient, bench: str) -> None:
    """r 44 instead of 48: width 60 − 44·cos 15° = 17.50 mm, and nothing of the old plan stays."""
    assert "× 13.6 mm" in laid_out(client, bench)
    wider = band_ring("Band", WOOD)
    for point in wider["parts"][0]["inside"]["points"]:
        point["r_mm"] = 44
    address = f"/api/pieces/{bench.split('/')[2]}"
    assert client.put(address, json=wider, headers={"If-Match": "1"}).status_code == 200
    page = laid_out(client, bench)
    assert "× 17.5 mm" in page
    assert "× 13.6 mm" not in page


def test_the_same_question_has_the_same_answer_at_once(client: TestClient, bench: str) -> None:
    first = laid_out(client, bench)
    started = time.monotonic()
    again = client.get(f"{bench}/boards").text
    assert time.monotonic() - started < 2
    assert _pictures(again) == _pictures(first)


@pytest.mark.parametrize(
    ("how", "typed", "words"),
    [
        ("sum", {"sum_deg": "360.24"}, "0.0100° too steep"),
        ("sum", {"sum_deg": "360"}, "The mitre is right"),
        ("sum", {"sum_deg": "x"}, "is no number"),
        ("gap", {"gap_outside": "0.5", "gap_inside": "0"}, "too shallow"),
        ("gap", {"gap_outside": "24", "gap_inside": "0"}, "measure it again"),
        ("halves", {"opening": "0.3", "opens": "inside"}, "too steep"),
        ("stop", {"measured": "120.4", "across": "flats"}, "towards the blade"),
        ("stop", {"measured": "", "across": "flats"}, "Please fill this in"),
    ],
)
def test_sled_and_stop(
    client: TestClient, bench: str, how: str, typed: dict[str, str], words: str
) -> None:
    form = {"how": how, "ring": "r1", "fence_radius": "300", **typed}
    reply = client.post(f"{bench}/sled", data=form)
    assert words in reply.text
    assert reply.status_code in (200, 422)


def test_the_stop_is_moved_by_what_the_first_ring_says(client: TestClient, bench: str) -> None:
    """120.4 instead of 120 mm across the flats: edges 0.4·tan 15° = 0.107 mm too long."""
    form = {"how": "stop", "ring": "r1", "measured": "120.4", "across": "flats"}
    page = client.post(f"{bench}/sled", data=form).text
    assert ">0.11<" in page
    say(client, bench, "measured", "r1", data={"quantity": "stop_correction_mm", "value_mm": -0.11})
    assert "stop -0.11 mm" in client.get(bench).text.replace("−", "-")


def test_labels_hold_every_strip(client: TestClient, bench: str) -> None:
    page = client.get(f"{bench}/labels").text
    assert "Band ring 1" in page
    assert "12 segments, white ash" in page


def test_staves_have_mitre_and_tilt(client: TestClient) -> None:
    """N 8, lean 15°: mitre atan(tan 22.5°·sin 15°), tilt asin(sin 22.5°·cos 15°), by hand."""
    document = band_ring("Staves", WOOD, segments=8)
    part = document["parts"][0]
    part["rings"] = [
        {"id": "s1", "kind": "stave", "lean_deg": 15, "segments": 8, "thickness_mm": 20}
    ]
    piece = client.post("/api/pieces", json=document).json()["id"]
    page = client.get(f"/pieces/{piece}/saw-bench").text
    assert "6.119°" in page
    assert "21.694°" in page


def _pictures(page: str) -> list[str]:
    return [part.split("</svg>")[0] for part in page.split('<svg class="dwg lying"')[1:]]
