"""Pieces and drawing board as people meet them: every size, theme and origin, and with axe."""

import hashlib
from pathlib import Path

import pytest
from axe_check import THEMES, sideways, small_targets, violations_in
from fastapi import FastAPI
from page_wait import at_drawing
from page_watch import INSECURE_NAME, PHONE, SIZES, TABLET, Visitor
from piece_makers import beaker
from shop_help import loopback_client

BOARD_PANELS = (
    "",
    "?show=ring&ring=r1",
    "?show=rings&rings=r1,r2",
    "?show=form",
    "?show=pattern",
    "?show=propose",
    "?show=look",
    "?show=parts",
    "?show=shop",
    "?show=drawings",
    "?show=drawings&against=1",
)
WIDTHS = (320, 390, 800, 1180)
NO_GPU = ("GPU stall", "WebGL", "GL Driver")
AXE_SHA256 = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"


@pytest.fixture(scope="module")
def beaker_id(page_app: FastAPI, page_port: int) -> str:
    made = loopback_client(page_app).post("/api/pieces", json=beaker(4, name="Beaker"))
    assert made.status_code == 201, made.text
    return str(made.json()["id"])


def test_axe_is_the_one_that_was_checked_in() -> None:
    file = Path(__file__).parent / "axe" / "axe.min.js"
    assert hashlib.sha256(file.read_bytes()).hexdigest() == AXE_SHA256


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_axe_finds_nothing_on_pieces_and_states(
    visitor: Visitor, axe_source: str, beaker_id: str, size: str
) -> None:
    page = visitor.open("/pieces", SIZES[size])
    for path in ("/pieces", "/pieces/new", "/states"):
        page.goto(f"http://127.0.0.1:{visitor.port}{path}")
        assert violations_in(page, axe_source, THEMES) == [], path


@pytest.mark.parametrize("size", ["tablet", "phone"])
@pytest.mark.parametrize("panel", BOARD_PANELS)
def test_axe_finds_nothing_on_the_drawing_board(
    visitor: Visitor, axe_source: str, beaker_id: str, size: str, panel: str
) -> None:
    visitor.allowed = NO_GPU
    page = visitor.open(f"/pieces/{beaker_id}/drawing-board{panel}", SIZES[size])
    assert violations_in(page, axe_source, THEMES) == []


@pytest.mark.parametrize("path", ["/pieces", "/pieces/new", *BOARD_PANELS])
def test_nothing_scrolls_sideways_and_everything_can_be_touched(
    visitor: Visitor, beaker_id: str, path: str
) -> None:
    visitor.allowed = NO_GPU
    board = f"/pieces/{beaker_id}/drawing-board"
    page = visitor.open(path if path.startswith("/") else board + path, PHONE)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 760})
        assert sideways(page) <= 0, width
        assert small_targets(page, 48) == [], width


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_the_board_works_on_an_origin_that_is_not_secure(
    visitor: Visitor, beaker_id: str, size: str
) -> None:
    page = visitor.open(
        f"/pieces/{beaker_id}/drawing-board?show=ring&ring=r0", SIZES[size], host=INSECURE_NAME
    )
    assert page.evaluate("window.isSecureContext") is False
    page.get_by_label("Segments", exact=True).fill("18")
    page.get_by_label("Segments", exact=True).press("Tab")
    at_drawing(page, 2)
    assert page.get_by_label("Segments", exact=True).input_value() == "18"


def test_a_ring_is_changed_and_undone_across_a_reload(visitor: Visitor, page_app: FastAPI) -> None:
    api = loopback_client(page_app)
    made = api.post("/api/pieces", json=beaker(4, name="Undone")).json()["id"]
    page = visitor.open(f"/pieces/{made}/drawing-board")
    page.locator(".ring-link").nth(1).tap()
    page.get_by_role("heading", name="Ring 3").wait_for()
    page.get_by_label("Segments", exact=True).fill("16")
    page.get_by_label("Segments", exact=True).press("Enter")
    at_drawing(page, 2)
    page.reload()
    assert page.get_by_label("Segments", exact=True).input_value() == "16"
    page.get_by_role("button", name="Undo").tap()
    at_drawing(page, 3)
    assert page.get_by_label("Segments", exact=True).input_value() == "12"
    page.get_by_role("button", name="Redo").tap()
    at_drawing(page, 4)
    assert page.get_by_label("Segments", exact=True).input_value() == "16"
    assert api.get(f"/api/pieces/{made}").json()["revision"] == 4


def test_what_was_typed_wrongly_stays_with_its_reason(visitor: Visitor, beaker_id: str) -> None:
    visitor.allowed = ("status of 422",)
    page = visitor.open(f"/pieces/{beaker_id}/drawing-board?show=ring&ring=r2")
    page.get_by_label("Thickness").fill("7/0")
    page.get_by_label("Thickness").press("Tab")
    page.get_by_text("0 below the line").wait_for()
    assert page.get_by_label("Thickness").input_value() == "7/0"
    assert page.get_by_label("Thickness").get_attribute("aria-invalid") == "true"


def test_a_tap_on_the_drawing_opens_its_ring(visitor: Visitor, beaker_id: str) -> None:
    page = visitor.open(f"/pieces/{beaker_id}/drawing-board", TABLET)
    page.locator(".board-drawing .hit").nth(2).tap()
    page.get_by_role("heading", name="Ring 3").wait_for()
    assert "ring=r2" in page.url


def test_a_new_piece_from_a_starting_form(visitor: Visitor) -> None:
    page = visitor.open("/pieces/new", PHONE)
    page.get_by_text("Urn", exact=True).tap()
    page.get_by_label("Name of the piece").fill('Urn "<b>of</b>" ash')
    page.get_by_role("button", name="Draw it").tap()
    page.get_by_role("heading", name="Drawing board").wait_for()
    assert 'Urn "<b>of</b>" ash' in page.locator("#subtitle").inner_text()
