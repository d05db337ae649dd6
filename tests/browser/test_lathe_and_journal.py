"""From the demo's last ring to a signed goblet on the tablet; the journal has every tick of it."""

import re
import uuid
from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
from axe_check import THEMES, sideways, small_targets, violations_in
from fastapi import FastAPI
from fastapi.testclient import TestClient
from page_wait import until
from page_watch import INSECURE_NAME, PHONE, SIZES, TABLET, Visitor
from PIL import Image
from playwright.sync_api import Page, expect
from shop_help import loopback_client

from server.craft.document import parse_piece
from server.craft.lathe.joints import RUN_OUT
from server.craft.lathe.steps import Step, Work
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.worked.piece import work_piece
from server.demo import demo_piece

STEPS = lathe_steps(work_piece(parse_piece(demo_piece())))
GLUED = (Work.JOIN, Work.ASSEMBLE, Work.MOUNT)
LONG_AGO_H = 60
KNUCKLE_MS = 420
GLUED_AGO_H = 120


class Floor:
    """A kept demo whose rings are all on and cured."""

    def __init__(self, client: TestClient) -> None:
        self.client, self.document = client, demo_piece()
        reply = client.post("/api/pieces", json=self.document)
        assert reply.status_code == 201, reply.text
        self.piece = str(reply.json()["id"])
        self.path = f"/pieces/{self.piece}/lathe"

    def glue_all(self) -> None:
        for stack in self.document["stacks"]:
            for ring in stack["rings"]:
                data = {"stack": stack["id"], "minutes": 30, "rest_minutes": 20, "cure_hours": 24}
                self.write("clamped", ring, data, GLUED_AGO_H)
                self.write("released", ring, data, GLUED_AGO_H)

    def write(
        self,
        kind: str,
        subject: str,
        data: dict[str, Any] | None = None,
        ago_h: float = LONG_AGO_H,
    ) -> None:
        at = datetime.now(UTC) - timedelta(hours=ago_h)
        line = {
            "id": str(uuid.uuid4()),
            "piece": self.piece,
            "kind": kind,
            "subject": subject,
            "at": at.isoformat(),
            "data": data or {},
        }
        assert self.client.post("/api/ledger", json=line).status_code == 200

    def done(self, *steps: Step) -> None:
        for step in steps:
            if step.quantity is not None:
                value_mm = 0.1 if step.quantity == RUN_OUT else 12.9
                data = {"quantity": step.quantity, "value_mm": value_mm}
                self.write("measured", step.subject, data)
            else:
                self.write(step.ticked.value, step.subject)


@pytest.fixture
def goblet_floor(page_app: FastAPI, page_port: int) -> Floor:
    return Floor(loopback_client(page_app))


def title(page: Page) -> str:
    return page.locator("#step-title").inner_text()


def do_what_is_shown(page: Page, floor: Floor) -> Step:
    """The step that the page itself leads to, done by its own button or its own field."""
    shown = page.locator("#lathe").get_attribute("data-step")
    step = next(step for step in STEPS if step.id == shown)
    assert step.title in title(page)
    was = int(page.locator("#lathe").get_attribute("data-seq") or 0)
    if step.work in GLUED:
        # Glued long enough ago, so that the test need not wait for the cure.
        assert page.locator("#act").count() == 1
        floor.done(step)
    elif step.quantity is not None:
        page.locator("form[data-measure] input").fill(
            "1/128" if step.quantity == RUN_OUT else "33/64"
        )
        page.locator("form[data-measure] button").click()
    else:
        # A second tap within 400 ms counts as the same one.
        page.wait_for_timeout(KNUCKLE_MS)
        page.locator("#act").click()
    until(page, "was => document.getElementById('lathe').dataset.seq > was", was)
    return step


def test_from_the_last_ring_to_signed_every_tick_measure_and_photo_in_the_journal(
    visitor: Visitor, goblet_floor: Floor, tmp_path
) -> None:
    goblet_floor.glue_all()
    page = visitor.open(goblet_floor.path, TABLET)
    done: list[str] = []
    while len(done) < len(STEPS):
        done.append(do_what_is_shown(page, goblet_floor).id)
    assert sorted(done) == sorted(step.id for step in STEPS)
    picture = BytesIO()
    Image.new("RGB", (64, 48), (150, 110, 70)).save(picture, "JPEG")
    photo = tmp_path / "goblet.jpg"
    photo.write_bytes(picture.getvalue())
    page.locator("#note-words").fill("Stands well, a hair heavy in the foot")
    page.locator("#note-photo").set_input_files(photo)
    with page.expect_response(
        lambda reply: reply.request.method == "POST" and "photos" in reply.url, timeout=60_000
    ):
        page.locator("#note button").click()
    page.goto(page.url.split("?")[0].replace("/lathe", "/journal"))
    said = page.locator("#book").inner_text()
    for step in STEPS:
        if step.quantity is None and step.work is not Work.BORE:
            assert step.title in said, step.id
    assert said.count("Mortise bored") == len(goblet_floor.document["joints"])
    assert said.count("Measured: mortise, across") == len(goblet_floor.document["joints"])
    assert "Stands well, a hair heavy in the foot" in said
    page.locator(".day img").scroll_into_view_if_needed()
    until(page, "() => document.querySelector('.day img')?.naturalWidth > 0")
    page.locator("#seek").fill("heavy foot")
    expect(page.locator("#book")).to_contain_text("1 line found")
    assert "q=heavy" in page.url


def test_a_gate_has_no_button_and_opens_by_itself_on_another_device(
    visitor: Visitor, goblet_floor: Floor
) -> None:
    goblet_floor.glue_all()
    first, after = [step for step in STEPS if step.part == "foot"][:2]
    waiting = visitor.open(f"{goblet_floor.path}?step={after.id}", PHONE)
    assert waiting.locator("#act").count() == 0
    assert "Not yet" in waiting.locator(".bench").inner_text()
    at_work = visitor.open(f"{goblet_floor.path}?step={first.id}", TABLET, host=INSECURE_NAME)
    at_work.locator("#act").click()
    waiting.wait_for_selector("#act", timeout=45_000)
    expect(at_work.locator("#step-title")).to_contain_text(after.title)


def test_a_length_that_is_none_is_said_beside_the_field(
    visitor: Visitor, goblet_floor: Floor
) -> None:
    measuring = next(step for step in STEPS if step.quantity is not None)
    goblet_floor.glue_all()
    goblet_floor.done(*STEPS[: STEPS.index(measuring)])
    page = visitor.open(f"{goblet_floor.path}?step={measuring.id}", TABLET)
    page.locator("form[data-measure] input").fill("about half")
    page.locator("form[data-measure] button").click()
    assert "66.7 mm" in page.locator("[data-wrong]").first.inner_text()
    assert page.locator("form[data-measure] input").input_value() == "about half"


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_axe_finds_nothing_at_the_lathe_and_in_the_journal(
    visitor: Visitor, goblet_floor: Floor, axe_source: str, size: str
) -> None:
    measuring = next(step for step in STEPS if step.quantity is not None)
    goblet_floor.glue_all()
    goblet_floor.done(*STEPS[: STEPS.index(measuring)])
    shut = STEPS[-1]
    paths = [
        goblet_floor.path,
        f"{goblet_floor.path}?step={measuring.id}",
        f"{goblet_floor.path}?step={shut.id}",
        goblet_floor.path.replace("/lathe", "/journal"),
        "/journal?q=nothing-like-this",
    ]
    page = visitor.open(paths[0], SIZES[size])
    for path in paths:
        page.goto(f"http://127.0.0.1:{visitor.port}{path}")
        # At the end of the page its title block, which sticks to the window, lies over nothing.
        page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
        assert violations_in(page, axe_source, THEMES) == [], path


def test_nothing_scrolls_sideways_and_a_knuckle_hits(visitor: Visitor, goblet_floor: Floor) -> None:
    goblet_floor.glue_all()
    goblet_floor.done(*STEPS[:3])
    frame = re.compile(
        r"^(A (Pieces|Drawing|Lumber|Saw|Glue|Lathe|Journal|.*Next)|SUMMARY All|"
        r"BUTTON Will|INPUT|SELECT|A Ringwright|A Office|A Turn|A Cut)"
    )
    journal = goblet_floor.path.replace("/lathe", "/journal")
    page = visitor.open(journal, PHONE)
    for path in (goblet_floor.path, f"{goblet_floor.path}?step={STEPS[3].id}", journal):
        page.goto(f"http://127.0.0.1:{visitor.port}{path}")
        for width in (320, 390, 800, 1180):
            page.set_viewport_size({"width": width, "height": 760})
            assert sideways(page) <= 0, (path, width)
            own = page.evaluate(
                """() => [...document.querySelectorAll('#lathe a, #lathe button, #lathe summary')]
                  .filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 71.5)
                  .map(e => e.textContent.trim())"""
            )
            assert own == [], (path, width)
            assert [t for t in small_targets(page, 48) if not frame.match(t)] == []


@pytest.mark.parametrize("theme", ["light", "dark", "sun"])
def test_the_journal_prints_black_on_white_and_no_line_over_another(
    visitor: Visitor, page_app: FastAPI, theme: str
) -> None:
    floor = Floor(loopback_client(page_app))
    floor.glue_all()
    page = visitor.open(f"/pieces/{floor.piece}/journal", TABLET, theme=theme)
    page.emulate_media(media="print")
    paper = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    ink = page.evaluate("getComputedStyle(document.querySelector('.day li p')).color")
    assert (paper, ink) == ("rgb(255, 255, 255)", "rgb(0, 0, 0)")
    expect(page.get_by_label("Search the journal")).to_be_hidden()
    # Grids that are broken over pages lay their last rows over what follows: only lines are grids.
    grids = page.evaluate(
        "[...document.querySelectorAll('.sheet, .frame, main, .book, .day, .day ol')]"
        ".filter(one => getComputedStyle(one).display !== 'block').map(one => one.className)"
    )
    assert grids == []
