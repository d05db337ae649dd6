"""Which woods the board offers: those on the rack first, the shop's own, then all others."""

import re

import pytest

BRASS = {"id": "own-brass", "name": "Brass, thin", "group": "metal", "colour_hex": "#b5a642"}


@pytest.fixture
def brass(client) -> None:
    reply = client.post(
        "/lumber-rack/woods",
        data={"name": "Brass, thin", "group": "metal", "colour_hex": "#b5a642"},
        follow_redirects=False,
    )
    assert reply.status_code == 303, reply.text


def own_id(page: str) -> str:
    found = re.search(r'value="([^"]+)"[^>]*>Brass, thin</option>', page)
    assert found
    return found[1]


def first_select(page: str) -> str:
    start = page.index('name="wood"')
    return page[start : page.index("</select>", start)]


def test_what_lies_on_the_rack_is_offered_first(client, board_id) -> None:
    board = {"kind": "board", "wood": "wenge", "thickness_mm": 25, "width_mm": 140}
    made = client.post("/api/rack", json=board | {"length_mm": 900, "count": 1})
    assert made.status_code == 201, made.text
    for show in ("ring&ring=r1", "rings", "propose"):
        page = client.get(f"/pieces/{board_id}/drawing-board?show={show}").text
        offered = first_select(page)
        on_rack = offered.index('<optgroup label="On the rack">')
        assert on_rack < offered.index('value="wenge"') < offered.index('label="Others"')
        assert offered.count('value="wenge"') == 1


def test_an_own_wood_of_the_shop_comes_into_the_drawing(
    client, board_id, brass, change, drawn
) -> None:
    page = client.get(f"/pieces/{board_id}/drawing-board?show=ring&ring=r1").text
    assert '<optgroup label="Own woods">' in first_select(page)
    wood = own_id(page)
    assert not drawn().get("woods")
    change("paint", wood=wood, brush="ring", every="2", touched='[["r1", 0]]')
    assert drawn()["parts"][0]["rings"][1]["woods"] == [wood]
    (written,) = drawn()["woods"]
    assert written["id"] == wood
    assert written["colour_hex"] == "#b5a642"
    # Once it is there, the drawing's own word stands.
    change("paint", wood=wood, brush="ring", every="2", touched='[["r2", 0]]')
    assert len(drawn()["woods"]) == 1


def test_a_wood_that_only_the_drawing_has_is_offered_too(client, board_id, change) -> None:
    document = client.get(f"/api/pieces/{board_id}").json()
    piece = document["piece"] | {"woods": [BRASS]}
    kept = client.put(
        f"/api/pieces/{board_id}", json=piece, headers={"If-Match": f'"{document["revision"]}"'}
    )
    assert kept.status_code == 200, kept.text
    page = client.get(f"/pieces/{board_id}/drawing-board?show=pattern").text
    assert 'value="own-brass" data-colour="#b5a642">Brass, thin' in page
