"""The gluing schedule in a browser: hours kept by the form, every size and theme, with axe."""

import pytest
from axe_check import sideways, small_targets, violations
from fastapi import FastAPI
from page_watch import PHONE, SIZES, TABLET, Visitor
from shop_help import loopback_client

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
