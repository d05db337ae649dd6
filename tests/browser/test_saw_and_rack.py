"""From the rack to cut segments and back: the saw bench and the rack as a turner walks them."""

import json
from typing import Any

import pytest
from axe_check import sideways, small_targets, violations
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


@pytest.mark.parametrize(
    ("size", "theme"), [("tablet", "light"), ("phone", "dark"), ("tablet", "sun")]
)
def test_axe_finds_nothing(
    visitor: Visitor, axe_source: str, looked_at: dict[str, str], size: str, theme: str
) -> None:
    paths = [f"/pieces/{looked_at['piece']}/saw-bench{place}" for place in SAW_PLACES]
    for path in [*paths, *(place.format(**looked_at) for place in RACK_PLACES)]:
        page = _opened(visitor, path, SIZES[size], theme=theme)
        assert violations(page, axe_source) == [], path


@pytest.mark.parametrize("width", [320, 800])
def test_nothing_scrolls_sideways_and_fingers_find_everything(
    visitor: Visitor, looked_at: dict[str, str], width: int
) -> None:
    size = PHONE | {"viewport": {"width": width, "height": 760}}
    for place in SAW_PLACES:
        page = _opened(visitor, f"/pieces/{looked_at['piece']}/saw-bench{place}", size)
        assert sideways(page) <= 0, place
        assert _small_at_work(page, 72) == [], place
    for place in RACK_PLACES:
        page = _opened(visitor, place.format(**looked_at), size)
        assert sideways(page) <= 0, place
        assert small_targets(page, 48) == [], place


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
    """Until the layout is worked out to its end."""
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
    wood = "mahogany"
    piece = saw_api.post("/api/pieces", json=band_ring("Long way", wood)).json()["id"]
    saw = f"/pieces/{piece}/saw-bench"

    # A board with a knot drawn by finger.
    page = _opened(visitor, "/lumber-rack/new?kind=board", TABLET)
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
    board = page.url.rsplit("/", 1)[1]
    kept = saw_api.get(f"/api/rack/{board}").json()["item"]
    assert kept["thickness_mm"] == pytest.approx(22.225)
    assert kept["defects"][0]["x_mm"] == pytest.approx(40, abs=6)
    assert kept["defects"][0]["length_mm"] == pytest.approx(96, abs=8)

    # Solved: off the knot; sawn: off the rack, its rest back on it.
    page = _opened(visitor, f"{saw}/boards", TABLET)
    _laid_out(page)
    assert page.locator(".lying").count() == 1
    page.get_by_role("button", name="Board is sawn").tap()
    page.get_by_role("heading", name="Everything is sawn").wait_for()
    rack = _opened(visitor, "/lumber-rack", TABLET)
    assert rack.get_by_text("Long board", exact=True).count() == 0
    assert rack.get_by_text("Rest of Long board").count() >= 1

    # Cut; two break beyond the spare one: laid out again for what remains, from the rest.
    bench = _opened(visitor, saw, TABLET)
    bench.get_by_role("button", name="10 cut", exact=True).tap()
    _counted(bench, 10)
    for _ in range(2):
        bench.get_by_role("button", name="1 broken", exact=True).tap()
        bench.wait_for_timeout(500)
    bench.get_by_text("2 broken").wait_for()
    page.reload()
    _laid_out(page)
    assert page.locator(".lines li").first.inner_text().count("1 segment")
    assert page.get_by_role("heading", name="Rest of Long board").count() == 1

    # Undone: the board is back, the rest is gone.
    page.get_by_role("button", name="Undo").first.tap()
    page.get_by_role("heading", name="Long board", exact=True).wait_for(timeout=45_000)
    rack.reload()
    assert rack.get_by_text("Rest of Long board").count() == 0

    # A table out and in again changes nothing.
    before = saw_api.get("/lumber-rack/rack.csv").text
    rack.goto(rack.url.split("/lumber-rack")[0] + "/lumber-rack/table")
    rack.set_input_files(
        "#table-file",
        files=[{"name": "rack.csv", "mimeType": "text/csv", "buffer": before.encode()}],
    )
    rack.get_by_role("button", name="Look at it first").tap()
    rack.get_by_role("button", name="Keep all of it").tap()
    rack.wait_for_url("**/lumber-rack")
    assert saw_api.get("/lumber-rack/rack.csv").text == before


def _draw_knot(page: Page, x: float, y: float, long: float, wide: float) -> None:
    """Drag from one corner to the other, in parts of the picture's width and height."""
    box = page.locator("#drawon svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + x * box["width"], box["y"] + y * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + (x + long) * box["width"], box["y"] + (y + wide / 2) * box["height"])
    page.mouse.up()


def test_a_spare_ring_is_offered_used_and_put_back(visitor: Visitor, saw_api: TestClient) -> None:
    wood = "padauk"
    piece = saw_api.post("/api/pieces", json=band_ring("Spare", wood)).json()["id"]
    spare = {
        "kind": "spare-ring",
        "wood": wood,
        "woods": [wood],
        "name": "Padauk ring",
        "thickness_mm": 21,
        "segments": 12,
        "outside_diameter_mm": 130,
        "inside_diameter_mm": 90,
    }
    assert saw_api.post("/api/rack", json=spare).status_code == 201
    page = _opened(visitor, f"/pieces/{piece}/saw-bench", TABLET)
    page.get_by_role("button", name="Use it").tap()
    page.get_by_text("stands for this ring").wait_for()
    assert page.get_by_text("Every strip of this piece is sawn.").count() == 1
    assert "Padauk ring" not in saw_api.get("/lumber-rack/rack.csv").text
    page.get_by_role("button", name="Put it back").tap()
    page.get_by_role("button", name="Use it").wait_for()
    assert "Padauk ring" in saw_api.get("/lumber-rack/rack.csv").text


def test_a_short_rack_says_what_to_buy(visitor: Visitor, saw_api: TestClient) -> None:
    wood = "bloodwood"
    piece = saw_api.post("/api/pieces", json=band_ring("Short", wood)).json()["id"]
    page = _opened(visitor, "/lumber-rack/prices", TABLET)
    for label, typed in (
        ("Price a board foot", "20"),
        ("Thickness", "25.4 mm"),
        ("Width", "100 mm"),
        ("Length", "900 mm"),
    ):
        page.get_by_label(label, exact=True).fill(typed)
    page.get_by_label("Wood").select_option(wood)
    page.get_by_role("button", name="Add to the price list").tap()
    page.get_by_text("20.00 a board foot").wait_for()
    page = _opened(visitor, f"/pieces/{piece}/saw-bench/boards", TABLET)
    _laid_out(page)
    words = page.locator(".short").inner_text()
    assert "lacks 13 of 13" in words
    assert "1 × bloodwood" in words
    # 25.4 × 100 × 900 mm is 0.969 board feet (144 in³ each), at 20 each.
    assert "19.38" in words


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
