"""The server's clock is set back while a press runs: every device says so, one tap ends it."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from live_shop import PHONE, TABLET, goblet
from page_wait import PATIENCE_S
from playwright.sync_api import expect
from shop_help import ledger_line

pytestmark = pytest.mark.browser


def ask(visitor, app, path, body):
    """One line said by this very computer."""
    import httpx2

    reply = httpx2.post(f"http://127.0.0.1:{visitor.port}{path}", json=body, timeout=PATIENCE_S)
    assert reply.is_success, reply.text
    return reply.json()


@pytest.mark.parametrize("size", [TABLET, PHONE], ids=["tablet", "phone"])
def test_times_stand_still_until_somebody_says_that_the_clock_is_right(visitor, page_app, size):
    cup = ask(visitor, page_app, "/api/pieces", goblet())["id"]
    at_a = {"stack": "low", "faceplate": "A", "minutes": 30}
    ask(visitor, page_app, "/api/ledger", ledger_line(cup, "clamped", "c1", data=at_a))
    clock = page_app.state.clock
    clock._sure_until = datetime.now(UTC) + timedelta(hours=2)
    page = visitor.open(f"/pieces/{cup}/glue-bench", {"viewport": size})
    bar = page.locator("#clock-wrong")
    expect(bar).to_contain_text("earlier than it was before")
    right = bar.get_by_role("button", name="The clock is right now")
    assert right.bounding_box()["height"] >= 72
    right.click()
    expect(bar).to_have_count(0)
    assert not clock.held
    expect(page.locator(".now .count")).to_have_text(re.compile(r"^(30:00|29:\d\d)$"))
