"""The newcomer's path of the README, walked on a tablet in a shop that was started a minute ago."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from page_watch import TABLET, Visitor, served
from playwright.sync_api import Browser, Page, expect
from shop_help import loopback_client, shop_app


@pytest.fixture
def first_start(page_browser: Browser, tmp_path: Path) -> Iterator[tuple[Visitor, FastAPI]]:
    """A shop with its demo piece, as the first start makes it."""
    app = shop_app(tmp_path / "data", empty=False)
    with served(app) as port:
        visiting = Visitor(page_browser, port)
        yield visiting, app
        visiting.close()
    assert visiting.complaints == []


def kinds(app: FastAPI, piece: str) -> list[str]:
    items = loopback_client(app).get(f"/api/ledger?after=0&piece={piece}").json()["items"]
    return [item["kind"] for item in items]


def test_from_the_demo_to_a_running_timer_and_back(
    first_start: tuple[Visitor, FastAPI],
) -> None:
    visitor, app = first_start
    page = visitor.open("/", TABLET)

    # Look at the demo.
    expect(page.get_by_text("Tideline goblet").first).to_be_visible()
    page.locator(".to-piece").first.tap()
    expect(page.get_by_role("heading", name="Drawing board")).to_be_visible()
    expect(page.get_by_text("Nothing to find fault with")).to_be_visible()

    # Copy it, so that the copy can be spoilt.
    page.goto(page.url.split("/pieces/")[0] + "/pieces")
    page.locator(".piece-more summary").first.tap()
    page.get_by_role("button", name="Copy").first.tap()
    page.wait_for_url("**/pieces/tideline-goblet-copy-*/drawing-board")
    copy = page.url.split("/pieces/")[1].split("/")[0]

    # Change a ring: the picture, the numbers and the drawing's number follow.
    page.goto(page.url.split("/pieces")[0] + f"/pieces/{copy}/drawing-board?show=ring&ring=b3")
    page.get_by_label("Segments", exact=True).fill("16")
    page.get_by_label("Segments", exact=True).press("Enter")
    expect(page.locator("#subtitle")).to_contain_text("drawing 2")
    expect(page.locator(".ring-nums")).to_contain_text("11.25°")

    # Tick it cut at the saw: ten at once, the rest one by one.
    page.goto(page.url.split("/drawing-board")[0] + "/saw-bench?ring=f1")
    page.get_by_role("button", name="10 cut").tap()
    for counted in ("10", "11"):
        expect(page.locator(".cut").first).to_contain_text(counted)
        # Taps closer together than this count as one that bounced.
        page.wait_for_timeout(450)
        page.get_by_role("button", name="1 cut", exact=True).tap()
    expect(page.locator("#saved")).to_contain_text("Saved")
    expect(page.locator(".cut").first).to_contain_text("12")

    # Glue it, tick by tick, and put it in the press: the timer runs.
    page.goto(page.url.split("/saw-bench")[0] + "/glue-bench")
    foot = page.locator(".plate").nth(2)
    for _ in range(8):
        if "In the press" in foot.inner_text():
            break
        line = len(kinds(app, copy))
        # What the blue button offers already is not offered a second time at the column.
        own = foot.locator("button.alt")
        (own if own.count() else page.locator(".now .act")).first.tap()
        wait_for_line(page, app, copy, line)
    expect(foot).to_contain_text("In the press")
    expect(page.locator("[data-left]").first).to_have_text(re.compile(r"\d+:\d\d"))
    assert kinds(app, copy)[-1] == "clamped"

    # The timer goes on through a reload; undo takes the press back, and the ledger keeps both.
    page.reload()
    expect(page.locator("[data-left]").first).to_have_text(re.compile(r"\d+:\d\d"))
    page.get_by_role("button", name="Undo").first.tap()
    expect(page.locator(".plate").nth(2)).not_to_contain_text("In the press")
    assert kinds(app, copy)[-2:] == ["clamped", "undone"]


def wait_for_line(page: Page, app: FastAPI, piece: str, lines: int) -> None:
    """Wait until the tap is in the ledger and the page shows the ledger's new state."""
    for _ in range(100):
        if len(kinds(app, piece)) > lines:
            break
        page.wait_for_timeout(50)
    page.wait_for_timeout(400)
