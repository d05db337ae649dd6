"""The page of all pieces: new, copied, out of a file, put away; and how far along they are."""

import json

import pytest
from piece_makers import beaker
from shop_help import ledger_line

from server.rooms.pieces.starts import CHOICES, SIZES

NEW = {
    "name": "Row of bricks",
    "form": "bowl",
    "units": "mm",
    "height": "100",
    "diameter": "240",
    "wood": "walnut-black",
}


def post_new(client, **changed):
    return client.post("/pieces/new", data=NEW | changed, follow_redirects=False)


@pytest.mark.parametrize("form", list(CHOICES))
def test_every_starting_form_makes_a_piece_without_a_stop(client, form: str) -> None:
    size = {"goblet": ("232", "92"), "platter": ("36", "280")}.get(form, ("150", "160"))
    reply = post_new(client, form=form, height=size[0], diameter=size[1])
    assert reply.status_code == 303
    piece = reply.headers["location"].split("/")[2]
    checks = client.get(f"/api/pieces/{piece}/plan").json()["checks"]
    stops = [c for c in checks if c["severity"] == "stop" and c["code"] != "swing-exceeded"]
    assert stops == []


@pytest.mark.parametrize("form", list(CHOICES))
def test_a_form_at_its_own_size_fits_the_usual_lathe_and_is_strong_enough(
    client, form: str
) -> None:
    reply = post_new(client, form=form, height="", diameter="")
    piece = reply.headers["location"].split("/")[2]
    checks = client.get(f"/api/pieces/{piece}/plan").json()["checks"]
    # Of the wood's movement, of small rings and of the press every turner has to think.
    told = {"season-gap", "strip-short", "press-force-exceeded"}
    assert {check["code"] for check in checks} <= told
    rings = [
        ring
        for part in client.get(f"/api/pieces/{piece}").json()["piece"]["parts"]
        for ring in part.get("rings", ())
    ]
    assert all(ring["thickness_mm"] % 0.5 == 0 for ring in rings)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("name", "  ", "fill this in"),
        ("height", "tall", "no length"),
        ("height", "5", "Between 10.0 and 3000"),
        ("diameter", "-4", "Between 10.0 and 3000"),
        ("form", "teapot", "Choose one"),
        ("wood", "unobtainium", "Choose one"),
    ],
)
def test_a_wrong_start_says_so(client, field: str, typed: str, words: str) -> None:
    reply = post_new(client, **{field: typed})
    assert reply.status_code == 422
    assert words in reply.text
    assert client.get("/api/pieces").json()["items"] == []


def test_sizes_in_inches(client) -> None:
    reply = post_new(client, units="in", height="4 1/2", diameter="8")
    piece = client.get(f"/api/pieces/{reply.headers['location'].split('/')[2]}").json()["piece"]
    assert piece["display_units"] == "in"
    assert piece["parts"][0]["outside"]["points"][-1]["z_mm"] == pytest.approx(114.3)


@pytest.mark.parametrize("form", list(CHOICES))
def test_a_size_left_empty_is_the_form_s_own(client, form: str) -> None:
    height, diameter = SIZES[form]
    assert f"Ø {diameter:.0f} × {height:.0f}<" in client.get("/pieces/new").text
    reply = post_new(client, form=form, height="", diameter="")
    assert reply.status_code == 303
    piece = reply.headers["location"].split("/")[2]
    totals = client.get(f"/api/pieces/{piece}/plan").json()["totals"]
    assert totals["height_mm"] == pytest.approx(height)
    checks = client.get(f"/api/pieces/{piece}/plan").json()["checks"]
    stops = [c for c in checks if c["severity"] == "stop" and c["code"] != "swing-exceeded"]
    assert stops == []


def test_a_new_piece_is_typed_in_the_shop_s_units(client) -> None:
    kept = client.get("/api/shop").json()
    assert client.put("/api/shop", json=kept | {"display_units": "in"}).status_code == 200
    assert '<option value="in" selected>' in client.get("/pieces/new").text


def send_file(client, content: bytes):
    return client.post(
        "/pieces/import", files={"file": ("a.json", content)}, follow_redirects=False
    )


def test_a_piece_comes_out_of_a_file(client) -> None:
    reply = send_file(client, json.dumps(beaker(3, name="From a file")).encode())
    assert reply.status_code == 303
    assert "From a file" in client.get("/pieces").text


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no JSON"),
        (b"{", "no JSON"),
        (b"[]", "no piece file"),
        (b"[" * 5000, "no JSON"),
        (b'{"format": "ringwright.piece", "version": 1, "name": "x", "parts": []}', "/parts"),
        (json.dumps(beaker(3) | {"colour": 1}).encode(), "/colour"),
        (json.dumps(beaker(3)).replace("60", "NaN", 1).encode(), "ordinary number"),
        (b" " * (1024 * 1024 + 2), "larger than"),
    ],
)
def test_a_file_that_is_no_piece(client, content: bytes, words: str) -> None:
    reply = send_file(client, content)
    assert reply.status_code in (413, 422)
    if reply.status_code == 422:
        assert words in reply.text
    assert client.get("/api/pieces").json()["items"] == []


def test_copy_put_away_and_take_out_again(client, piece_id) -> None:
    copied = client.post(f"/pieces/{piece_id}/copy", follow_redirects=False)
    assert copied.status_code == 303
    page = client.get("/pieces").text
    assert "Test bowl, copy" in page
    client.post(f"/pieces/{piece_id}/archive")
    assert f"/pieces/{piece_id}/drawing-board" not in client.get("/pieces").text
    assert "Test bowl" in client.get("/pieces?archived=true").text
    client.post(f"/pieces/{piece_id}/restore")
    assert f"/pieces/{piece_id}/drawing-board" in client.get("/pieces").text


def test_what_is_not_there(client) -> None:
    for address in ("copy", "archive", "restore"):
        assert client.post(f"/pieces/nothing/{address}").status_code == 404
    assert client.get("/pieces/nothing/drawing-board").status_code == 404


def test_an_empty_shop_invites(client) -> None:
    assert "Draw the first one" in client.get("/").text


def test_how_far_along_it_is(client) -> None:
    piece = client.post("/api/pieces", json=beaker(3)).json()["id"]

    def say(kind: str, subject: str, **more):
        reply = client.post("/api/ledger", json=ledger_line(piece, kind, subject, **more))
        assert reply.status_code in (200, 201), reply.text

    assert "3 rings, nothing cut yet" in client.get("/").text
    say("cut", "r0", data={"count": 7})
    page = client.get("/").text
    assert "7 of 12 segments cut" in page
    assert f"/pieces/{piece}/saw-bench" in page
    say("stacked", "r0", data={"stack": "s"})
    page = client.get("/").text
    assert "1 of 3 rings on" in page
    assert page.count("p-on") == 1
    assert f"/pieces/{piece}/glue-bench" in page
    for ring in ("r1", "r2"):
        say("stacked", ring, data={"stack": "s"})
    assert "all rings on" in client.get("/").text
    say("turned", "body:s:rough")
    assert "1 step turned" in client.get("/").text
    say("turned", "piece:sign")
    page = client.get("/").text
    assert "signed" in page
    assert "steps turned" not in page


def test_a_name_of_markup_stays_text(client) -> None:
    name = '"><img src=x onerror=alert(1)>\u202e hx-get="/x" 🪵'
    client.post("/api/pieces", json=beaker(3, name=name))
    page = client.get("/pieces").text
    assert "<img" not in page
    assert "&lt;img src=x" in page
