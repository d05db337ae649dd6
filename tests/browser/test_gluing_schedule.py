"""The gluing schedule in a browser: hours kept by the form, every size and theme, with axe."""

import pytest
from axe_check import sideways, small_targets, violations
from fastapi import FastAPI
from page_watch import PHONE, SIZES, TABLET, Visitor
from playwright.sync_api import expect
from shop_help import ledger_line, loopback_client

from server.demo import demo_piece


@pytest.fixture(scope="module")
def schedule_path(page_app: FastAPI, page_port: int) -> str:
    reply = loopback_client(page_app).post("/api/pieces", json=demo_piece())
    assert reply.status_code == 201, reply.text
    return f"/pieces/{reply.json()['id']}/gluing-schedule"


def test_hours_that_are_kept_lay_the_rings_out_by_evenings(
    visitor: Visitor, schedule_path: str
) -> None:
    page = visitor.open(schedule_path, TABLET)
    for day in range(5):
        page.fill(f"#f-from-{day}", "19:00")
        page.fill(f"#f-to-{day}", "21:30")
    with page.expect_navigation():
        page.click(".hours .act")
    assert page.input_value("#f-from-4") == "19:00"
    stays = page.locator(".stayrow h2 small").all_inner_texts()
    assert stays
    assert all("to 21:30" in stay for stay in stays)
    pressed = page.locator(".stayrow li").count()
    rings = sum(len(stack["rings"]) for stack in demo_piece()["stacks"])
    assert pressed >= rings


@pytest.mark.parametrize("size", ["tablet", "phone"])
@pytest.mark.parametrize("theme", ["light", "dark", "sun"])
def test_axe_finds_nothing_on_the_schedule(
    visitor: Visitor, schedule_path: str, axe_source: str, size: str, theme: str
) -> None:
    page = visitor.open(schedule_path, SIZES[size], theme=theme)
    page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
    assert violations(page, axe_source) == []


@pytest.mark.parametrize("width", [320, 390, 800, 1180])
def test_the_schedule_does_not_scroll_sideways(
    visitor: Visitor, schedule_path: str, width: int
) -> None:
    page = visitor.open(schedule_path, PHONE | {"viewport": {"width": width, "height": 760}})
    assert sideways(page) <= 0
    assert [t for t in small_targets(page, 48) if not t.startswith(("A ", "SUMMARY"))] == []


def test_the_first_tap_of_a_visit_hits_what_it_is_aimed_at(
    visitor: Visitor, page_app: FastAPI
) -> None:
    """It lets the device sound, and the bar that says so stays in its place under the finger."""
    client, document = loopback_client(page_app), demo_piece()
    piece = client.post("/api/pieces", json=document).json()["id"]
    stack = document["stacks"][0]
    data = {"stack": stack["id"], "faceplate": stack.get("faceplate"), "minutes": 30}
    line = ledger_line(piece, "clamped", stack["rings"][0], data=data)
    assert client.post("/api/ledger", json=line).status_code == 200
    page = visitor.open(f"/pieces/{piece}/gluing-schedule", TABLET)
    bar, link = page.locator("#will-not-ring"), page.get_by_role("link", name="Into the calendar")
    expect(bar).to_be_visible()
    link.hover()
    place = link.bounding_box()
    with page.expect_download() as taken:
        page.mouse.down()
        expect(page.locator("#alarm")).to_have_attribute("data-alarm", "on")
        assert link.bounding_box() == place
        page.mouse.up()
    assert taken.value.suggested_filename == "gluing.ics"
    expect(bar).to_have_count(0)


@pytest.mark.parametrize("width", [800, 1110, 1180])
def test_many_running_times_leave_room_for_the_name_of_the_page(
    visitor: Visitor, page_app: FastAPI, width: int
) -> None:
    client, document = loopback_client(page_app), demo_piece()
    piece = client.post("/api/pieces", json=document).json()["id"]
    for ring in [ring for stack in document["stacks"] for ring in stack["rings"]][:7]:
        line = ledger_line(piece, "halves-glued", ring, data={"minutes": 30})
        assert client.post("/api/ledger", json=line).status_code == 200
    page = visitor.open(
        f"/pieces/{piece}/journal", TABLET | {"viewport": {"width": width, "height": 820}}
    )
    assert page.locator(".head .run").count() >= 7
    heading = page.locator("h1").bounding_box()
    assert heading is not None
    assert heading["height"] < 60
    assert sideways(page) <= 0
