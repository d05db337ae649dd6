"""From the rack to cut segments and back: the saw bench and the rack as a turner walks them."""

import json
import re
from typing import Any

import pytest
from axe_check import sideways, small_targets, violations_in
from fastapi import FastAPI
from fastapi.testclient import TestClient
from page_watch import INSECURE_NAME, PHONE, SIZES, TABLET, Visitor
from playwright.sync_api import Page, expect
from saw_pieces import band_ring, boards_for
from shop_help import loopback_client

SAW_PLACES = ("", "/boards", "/sled", "/labels")
RACK_PLACES = (
    "/lumber-rack",
    "/lumber-rack/new",
    "/lumber-rack/new?kind=spare-ring",
    "/lumber-rack/items/{board}",
    "/lumber-rack/prices",
    "/lumber-rack/woods",
    "/lumber-rack/table",
    "/lumber-rack?archived=true",
)


@pytest.fixture(scope="module")
def saw_api(page_app: FastAPI, page_port: int) -> TestClient:
    return loopback_client(page_app)


@pytest.fixture(scope="module")
def looked_at(saw_api: TestClient) -> dict[str, str]:
    """A piece and a board that these tests only look at."""
    board = saw_api.post("/api/rack", json=boards_for("ash-white")[0]).json()["id"]
    piece = saw_api.post("/api/pieces", json=band_ring("Looked at", "ash-white")).json()["id"]
    return {"piece": piece, "board": board}


def _opened(visitor: Visitor, path: str, size: dict[str, Any] = TABLET, **more: Any) -> Page:
    """A page that is given its time on a busy machine."""
    page = visitor.open(path, size, **more)
    page.set_default_timeout(45_000)
    return page


@pytest.mark.parametrize(("size", "themes"), [("tablet", ("light", "sun")), ("phone", ("dark",))])
def test_axe_finds_nothing(
    visitor: Visitor, axe_source: str, looked_at: dict[str, str], size: str, themes: list[str]
) -> None:
    paths = [f"/pieces/{looked_at['piece']}/saw-bench{place}" for place in SAW_PLACES]
    page = _opened(visitor, "/lumber-rack", SIZES[size])
    for path in [*paths, *(place.format(**looked_at) for place in RACK_PLACES)]:
        page.goto(f"http://127.0.0.1:{visitor.port}{path}")
        assert violations_in(page, axe_source, themes) == [], path


def test_nothing_scrolls_sideways_and_fingers_find_everything(
    visitor: Visitor, looked_at: dict[str, str]
) -> None:
    page = _opened(visitor, "/lumber-rack", PHONE)
    at_work = [f"/pieces/{looked_at['piece']}/saw-bench{place}" for place in SAW_PLACES]
    for place in [*at_work, *(place.format(**looked_at) for place in RACK_PLACES)]:
        page.goto(f"http://127.0.0.1:{visitor.port}{place}")
        for width in (320, 800):
            page.set_viewport_size({"width": width, "height": 760})
            assert sideways(page) <= 0, (place, width)
            small = _small_at_work(page, 72) if place in at_work else small_targets(page, 48)
            assert small == [], (place, width)


def _small_at_work(page: Page, least: int) -> list[str]:
    """Small targets in the page's own work; head and title block belong to the frame."""
    script = """least => [...document.querySelectorAll('a, button, input, select')]
      .filter(e => e.closest('main'))
      .filter(e => e.checkVisibility() && e.type !== 'hidden')
      .filter(e => getComputedStyle(e).display !== 'inline')
      .filter(e => e.getBoundingClientRect().height < least - 0.5)
      .map(e => `${e.tagName} ${e.textContent.trim().slice(0, 30)} ${e.name || ''}`)"""
    found: list[str] = page.evaluate(script, least)
    return found


def _count(page: Page) -> str:
    return page.locator("[data-tally]").inner_text()


def _counted(page: Page, wanted: int) -> None:
    expect(page.locator("[data-tally]")).to_have_text(str(wanted))


def _laid_out(page: Page) -> None:
    """Until there is a layout, which is then taken as it is."""
    page.locator("article.board, .short").first.wait_for()
    page.request.post(f"{page.url}/cancel")
    page.get_by_role("button", name="Work it out again").wait_for(timeout=45_000)


@pytest.mark.parametrize("host", ["127.0.0.1", INSECURE_NAME])
def test_cuts_are_counted_at_once_seen_elsewhere_and_undone(
    visitor: Visitor, saw_api: TestClient, host: str
) -> None:
    piece = saw_api.post("/api/pieces", json=band_ring(f"Counted {host}", "beech-american")).json()
    address = f"/pieces/{piece['id']}/saw-bench"
    phone = _opened(visitor, address, PHONE)
    page = _opened(visitor, address, TABLET, host=host)
    assert "12.86°" in page.locator(".sets").inner_text() or "15.00°" in page.inner_text(".sets")
    page.get_by_role("button", name="1 cut", exact=True).tap()
    _counted(page, 1)
    _counted(phone, 1)
    page.get_by_role("button", name="10 cut", exact=True).tap()
    _counted(page, 11)
    page.get_by_role("button", name="Undo").tap()
    _counted(page, 1)
    _counted(phone, 1)
    phone.get_by_role("button", name="1 broken", exact=True).tap()
    page.get_by_text("1 broken").and_(page.locator("[data-spares]")).wait_for()
    assert _count(page) == "1"


def test_cuts_out_of_touch_are_counted_and_sent_later(
    visitor: Visitor, saw_api: TestClient
) -> None:
    visitor.allowed = ("ERR_INTERNET_DISCONNECTED", "Failed to fetch", "net::")
    piece = saw_api.post("/api/pieces", json=band_ring("Out of touch", "beech-american")).json()
    page = _opened(visitor, f"/pieces/{piece['id']}/saw-bench", TABLET)
    _counted(page, 0)
    page.context.set_offline(True)
    page.get_by_role("button", name="1 cut", exact=True).tap()
    _counted(page, 1)
    assert page.locator(".tens [data-state=unsent]").count() == 1
    page.context.set_offline(False)
    page.wait_for_selector(".tens [data-state=cut]", timeout=45_000)
    lines = saw_api.get(f"/api/ledger?piece={piece['id']}").json()["items"]
    assert [line["data"]["count"] for line in lines if line["kind"] == "cut"] == [1]


def test_from_a_board_with_a_defect_to_a_short_rack_and_back(
    visitor: Visitor, saw_api: TestClient
) -> None:
    """A ring of twelve segments and one to spare, from a board with a knot to bought ones."""
    wood = "mahogany"
    piece = saw_api.post("/api/pieces", json=band_ring("Long way", wood)).json()["id"]
    page = _opened(visitor, "/lumber-rack/new?kind=board", TABLET)
    _put_a_board_with_a_knot_there(page, saw_api, wood)
    bench = _opened(visitor, f"/pieces/{piece}/saw-bench", TABLET)
    boards = _opened(visitor, f"/pieces/{piece}/saw-bench/boards", TABLET)

    _saw_the_board(boards, saw_api)
    _break_two_and_lay_out_again(bench, boards)
    boards.get_by_role("button", name="Undo").first.tap()
    boards.get_by_role("heading", name="Long board", exact=True).wait_for()
    assert _on_rack(saw_api, wood) == ["Long board"]
    _take_the_table_out_and_in(page, saw_api)
    _use_a_spare_ring_and_put_it_back(bench, saw_api, wood)
    _run_short_and_buy(boards, saw_api, wood)


def _on_rack(saw_api: TestClient, wood: str) -> list[str]:
    items = saw_api.get("/api/rack").json()["items"]
    return sorted(i["item"].get("name", "") for i in items if i["item"]["wood"] == wood)


def _put_a_board_with_a_knot_there(page: Page, saw_api: TestClient, wood: str) -> None:
    page.get_by_label("Wood").select_option(wood)
    page.get_by_label("Name").fill("Long board")
    for label, typed in (
        ("Thickness, measured", '7/8"'),
        ("Width", "120 mm"),
        ("Length", "80 cm"),
        ("Price a board foot", "10"),
    ):
        page.get_by_label(label).fill(typed)
    page.get_by_role("button", name="Put it on the rack").tap()
    page.get_by_role("heading", name="Long board").wait_for()
    _draw_knot(page, 0.05, 0.2, 0.12, 0.6)
    page.get_by_role("button", name="Save", exact=True).tap()
    page.wait_for_url("**/lumber-rack/items/*")
    page.get_by_text("1 defect").first.wait_for()
    kept = saw_api.get(f"/api/rack/{page.url.rsplit('/', 1)[1]}").json()["item"]
    assert kept["thickness_mm"] == pytest.approx(22.225)
    assert kept["defects"][0]["x_mm"] == pytest.approx(40, abs=6)
    assert kept["defects"][0]["length_mm"] == pytest.approx(96, abs=8)


def _saw_the_board(boards: Page, saw_api: TestClient) -> None:
    """Off the rack with it, and its rests back on it."""
    _laid_out(boards)
    assert boards.locator(".lying").count() == 1
    boards.get_by_role("button", name="Board is sawn").tap()
    boards.get_by_role("heading", name="Everything is sawn").wait_for()
    assert set(_on_rack(saw_api, "mahogany")) == {"Rest of Long board"}


def _break_two_and_lay_out_again(bench: Page, boards: Page) -> None:
    """One of the two is the spare one: one more is laid out, and from a rest."""
    bench.get_by_role("button", name="10 cut", exact=True).tap()
    _counted(bench, 10)
    spares = bench.locator("[data-spares]")
    for count in (1, 2):
        # Taps closer together than this count as one that bounced.
        bench.wait_for_timeout(450)
        bench.get_by_role("button", name="1 broken", exact=True).tap()
        expect(spares).to_have_text(re.compile(f"{count} broken$"))
    boards.reload()
    _laid_out(boards)
    assert "1 segment" in boards.locator(".lines li").first.inner_text()
    assert boards.get_by_role("heading", name="Rest of Long board").count() == 1


def _take_the_table_out_and_in(page: Page, saw_api: TestClient) -> None:
    """A table out and in again changes nothing."""
    before = saw_api.get("/lumber-rack/rack.csv").text
    page.goto(page.url.split("/lumber-rack")[0] + "/lumber-rack/table")
    table = {"name": "rack.csv", "mimeType": "text/csv", "buffer": before.encode()}
    page.set_input_files("#table-file", files=[table])
    page.get_by_role("button", name="Look at it first").tap()
    page.get_by_role("button", name="Keep all of it").tap()
    page.wait_for_url("**/lumber-rack")
    assert saw_api.get("/lumber-rack/rack.csv").text == before


def _use_a_spare_ring_and_put_it_back(bench: Page, saw_api: TestClient, wood: str) -> None:
    spare = {
        "kind": "spare-ring",
        "wood": wood,
        "woods": [wood],
        "name": "Spare ring",
        "thickness_mm": 21,
        "segments": 12,
        "outside_diameter_mm": 130,
        "inside_diameter_mm": 90,
    }
    assert saw_api.post("/api/rack", json=spare).status_code == 201
    bench.reload()
    bench.get_by_role("button", name="Use it").tap()
    bench.get_by_text("stands for this ring").wait_for()
    assert bench.get_by_text("Every strip of this piece is sawn.").count() == 1
    assert _on_rack(saw_api, wood) == ["Long board"]
    bench.get_by_role("button", name="Put it back").tap()
    bench.get_by_role("button", name="Use it").wait_for()
    assert _on_rack(saw_api, wood) == ["Long board", "Spare ring"]


def _run_short_and_buy(boards: Page, saw_api: TestClient, wood: str) -> None:
    """25.4 × 100 × 900 mm is 0.969 board feet (144 in³ each), at 20 each: 19.38."""
    for item in saw_api.get("/api/rack").json()["items"]:
        if item["item"].get("name") == "Long board":
            saw_api.delete(f"/api/rack/{item['id']}")
    offer = {"wood": wood, "thickness_mm": "25.4", "width_mm": "100", "length_mm": "900"}
    offer |= {"price_per_board_foot": "20"}
    assert saw_api.post("/lumber-rack/prices", data=offer).status_code == 200
    boards.reload()
    _laid_out(boards)
    words = boards.locator(".short").inner_text()
    assert "lacks 14 of 14" in words
    assert "1 × " in words
    assert "19.38" in words
    boards.get_by_role("button", name="Bought: put it on the rack").tap()
    boards.get_by_role("heading", name="Bought", exact=True).wait_for()
    assert _on_rack(saw_api, wood) == ["Bought", "Spare ring"]
    _laid_out(boards)
    boards.get_by_role("button", name="Board is sawn").tap()
    boards.get_by_role("heading", name="Everything is sawn").wait_for()
    assert set(_on_rack(saw_api, wood)) == {"Rest of Bought", "Spare ring"}


def _draw_knot(page: Page, x: float, y: float, long: float, wide: float) -> None:
    """Drag from one corner to the other, in parts of the picture's width and height."""
    box = page.locator("#drawon svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + x * box["width"], box["y"] + y * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + (x + long) * box["width"], box["y"] + (y + wide / 2) * box["height"])
    page.mouse.up()


def test_what_is_wrong_stands_beside_its_field(visitor: Visitor) -> None:
    visitor.allowed = ("status of 422",)
    page = _opened(visitor, "/lumber-rack/new", TABLET)
    page.get_by_label("Thickness, measured").fill("7/0")
    page.get_by_label("Width").fill("0")
    page.get_by_label("Length").fill("900 mm")
    page.get_by_role("button", name="Put it on the rack").tap()
    page.get_by_text("0 below the line").wait_for()
    assert page.get_by_label("Thickness, measured").input_value() == "7/0"
    assert page.get_by_label("Width").get_attribute("aria-invalid") == "true"
    assert page.get_by_label("Length").input_value() == "900 mm"


def test_the_sled_is_corrected_and_remembered(visitor: Visitor, saw_api: TestClient) -> None:
    piece = saw_api.post("/api/pieces", json=band_ring("Sled", "beech-american")).json()["id"]
    page = _opened(visitor, f"/pieces/{piece}/saw-bench/sled", TABLET)
    page.get_by_label("All 24 angles together").fill("360.24")
    page.get_by_role("button", name="Work it out").nth(3).tap()
    page.get_by_text("Each cut is 0.0100° too steep").wait_for()
    # 300 mm · tan 0.01°, by hand.
    assert page.locator(".answer .cut").inner_text().startswith("0.05")
    page.get_by_role("button", name="Write it down").tap()
    page.wait_for_timeout(800)
    page.goto(page.url)
    page.get_by_text("each mitre cut off by +0.0100°").wait_for()
    lines: list[dict[str, Any]] = saw_api.get(f"/api/ledger?piece={piece}").json()["items"]
    assert json.loads(json.dumps(lines[-1]["data"])) == {
        "quantity": "mitre_error_deg",
        "value": 0.01,
    }
