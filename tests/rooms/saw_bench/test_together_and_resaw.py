"""Several pieces laid out at once, and thick boards resawn, over HTTP."""

import pytest
from fastapi.testclient import TestClient
from saw_bench_help import button, laid_out, rack_id, tap
from saw_pieces import band_ring, boards_for

WOOD = "ash-white"


def kept(client: TestClient, name: str) -> str:
    piece = client.post("/api/pieces", json=band_ring(name, WOOD)).json()["id"]
    return f"/pieces/{piece}/saw-bench"


@pytest.fixture
def two(client: TestClient) -> tuple[str, str]:
    """Two pieces that are sawn together, and two boards."""
    for board in boards_for(WOOD):
        assert client.post("/api/rack", json=board).status_code == 201
    first, second = kept(client, "First"), kept(client, "Second")
    reply = client.post(f"{first}/together", data={"other": second.split("/")[2]})
    assert reply.status_code == 200
    return first, second


def test_two_pieces_are_laid_out_at_once(client: TestClient, two: tuple[str, str]) -> None:
    page = laid_out(client, two[0])
    assert "First, Band ring 1" in page
    assert "Second, Band ring 1" in page
    assert "2 pieces are laid out at once" in page
    assert "First, Band ring 1" in laid_out(client, two[1])


def test_a_board_sawn_for_both_serves_both(client: TestClient, two: tuple[str, str]) -> None:
    first, second = two
    page = laid_out(client, first)
    use = None
    for number in range(1, page.count('class="board"') + 1):
        use = tap(client, first, page, f"sawn-{number}")
    assert use is not None
    for bench in two:
        assert "Everything is sawn" in laid_out(client, bench)
    # Each alone again: what the other's line said still counts, and either can undo it.
    client.post(f"{first}/together", data={"other": second.split("/")[2]})
    page = laid_out(client, second)
    assert "Everything is sawn" in page
    tap(client, second, page, "unsaw-1")
    assert "Everything is sawn" not in laid_out(client, second)


def test_another_piece_that_is_put_away_is_left_out(
    client: TestClient, two: tuple[str, str]
) -> None:
    client.delete(f"/api/pieces/{two[1].split('/')[2]}")
    page = laid_out(client, two[0])
    assert "Second, Band ring 1" not in page


def test_a_thick_board_is_resawn_when_asked(client: TestClient) -> None:
    """50.8 mm in two, 2.4 mm of kerf between: leaves of 24.2 mm, which come back as boards."""
    thick = boards_for(WOOD)[0] | {"name": "Thick", "thickness_mm": 50.8, "defects": []}
    client.post("/api/rack", json=thick)
    bench = kept(client, "Resawn")
    page = laid_out(client, bench)
    assert "Lay it out resawn, 2 leaves" in page
    client.post(f"{bench}/resaw", data={"board": rack_id(client, "Thick"), "leaves": "2"})
    page = laid_out(client, bench)
    assert "2 leaves of 24.2 mm" in page
    assert 'id="sawn-1"' not in page
    use = tap(client, bench, page, "resawn-1")
    leaves = [item["item"] for item in client.get("/api/rack").json()["items"]]
    assert [(leaf["name"], leaf["kind"]) for leaf in leaves] == [("Leaf of Thick", "board")] * 2
    assert leaves[0]["thickness_mm"] == pytest.approx(24.2)
    # Both together are worth what the board was.
    assert leaves[0]["price_per_board_foot"] * 2 * 24.2 == pytest.approx(50.8 * 8)
    page = laid_out(client, bench)
    assert "Board is sawn" in page
    assert use["id"][:8] in button(page, "sawn-1")["subject"]
    tap(client, bench, page, "unsaw-1")
    assert rack_id(client, "Thick")
    assert "Leaf of Thick" not in client.get("/lumber-rack/rack.csv").text


def test_a_board_that_would_be_all_kerf_is_told(client: TestClient) -> None:
    thin = boards_for(WOOD)[0] | {"leaves": 20, "thickness_mm": 25.4}
    client.post("/api/rack", json=thin)
    page = laid_out(client, kept(client, "Kerf"))
    assert "is all kerf" in page


def test_what_was_cut_from_other_wood_is_not_laid_out(client: TestClient) -> None:
    client.post("/api/rack", json=boards_for(WOOD)[0])
    bench = kept(client, "Scrap")
    tap(client, bench, client.get(bench).text, "ten-cut")
    page = laid_out(client, bench)
    assert "no board is said to be sawn" in page
    tap(client, bench, page, "other-wood-1")
    page = laid_out(client, bench)
    assert "no board is said to be sawn" not in page
    assert "3 segments" in page


def test_what_was_bought_lies_on_the_rack(client: TestClient) -> None:
    """25.4 × 100 × 900 mm at 20 a board foot of 144 in³ is 19.38."""
    offer = {"wood": WOOD, "thickness_mm": "25.4", "width_mm": "100", "length_mm": "900"}
    client.post("/lumber-rack/prices", data=offer | {"price_per_board_foot": "20", "dealer": "D"})
    bench = kept(client, "Short")
    page = laid_out(client, bench)
    assert "19.38" in page
    assert client.post(
        f"{bench}/bought", data={"offer": "1", "wood": WOOD, "count": "1"}
    ).is_success
    (board,) = client.get("/api/rack").json()["items"]
    assert (board["item"]["name"], board["item"]["length_mm"]) == ("Bought of D", 900)
    for wrong, status in (({"offer": "2"}, 422), ({"count": "0"}, 422), ({"wood": "wenge"}, 409)):
        form = {"offer": "1", "wood": WOOD, "count": "1"} | wrong
        assert client.post(f"{bench}/bought", data=form).status_code == status
    assert "The rack is short" not in laid_out(client, bench)


def test_a_blade_wider_than_the_strip_is_told(client: TestClient) -> None:
    client.post("/api/rack", json=boards_for(WOOD)[0])
    document = band_ring("Wide blade", WOOD) | {"saw": {"blade_kerf_mm": 14}}
    piece = client.post("/api/pieces", json=document).json()["id"]
    page = laid_out(client, f"/pieces/{piece}/saw-bench")
    assert "A kerf of 14 mm leaves nothing of a strip" in page
