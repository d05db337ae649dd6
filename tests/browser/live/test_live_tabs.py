"""Eight tabs of one browser, a server that stalls, a queue that outlives its page."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from live_shop import LiveShop, goblet
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

UNSENT = "ringwright.unsent"


@pytest.fixture
def own_shop(tmp_path: Path) -> Iterator[LiveShop]:
    running = LiveShop(tmp_path / "data", "--empty").start()
    yield running
    running.stop()


def ticked(page) -> set[str]:
    script = "[...document.querySelectorAll('.tick[aria-pressed=true]')].map(b => b.id)"
    return set(page.evaluate(script))


def test_eight_open_tabs_and_a_tick_in_any_completes(floor, shop, cup, until):
    """A browser has six connections for one server: tabs out of sight must hold none."""
    context = floor.device("Tablet")
    tabs = [floor.page(context, cup) for _ in range(8)]
    kinds = ("dry-fitted", "halves-glued", "trued", "closed", "flattened")
    rings = ("c1", "c2")
    for number, tab in enumerate(tabs):
        tab.bring_to_front()
        ring, kind = rings[number // 5], kinds[number % 5]
        tab.evaluate(f"document.querySelector('#t-{ring}-{kind}').click()")
        until(lambda: len(shop.ledger(cup)), number + 1)
    until(lambda: len(ticked(tabs[0])), 8)


def test_a_hidden_tab_holds_no_stream(floor, shop, cup, until):
    page = floor.page(floor.device("Tablet"), cup)
    page.evaluate(
        """() => { window.closed_ = 0; const close = EventSource.prototype.close;
             EventSource.prototype.close = function () { window.closed_ += 1; close.call(this); };
             Object.defineProperty(document, 'visibilityState', {configurable: true,
               get: () => window.hiddenNow ? 'hidden' : 'visible'});
             window.hiddenNow = true; document.dispatchEvent(new Event('visibilitychange')); }"""
    )
    assert page.evaluate("window.closed_") == 1
    shop.say(cup, "trued", "c1")
    page.wait_for_timeout(1500)
    assert ticked(page) == set()
    page.evaluate(
        "() => { window.hiddenNow = false; document.dispatchEvent(new Event('visibilitychange')); }"
    )
    until(lambda: ticked(page), {"t-c1-trued"}, 10.0)


@pytest.mark.parametrize("answer", ["refused", "never"])
def test_a_stream_that_fails_or_stalls_hides_nothing(floor, shop, cup, until, answer):
    floor.away_is_fine = True
    context = floor.device("Tablet")
    tried = []

    def instead(route):
        tried.append(route)  # and no word more, where it stalls
        if answer == "refused":
            route.fulfill(status=503, body="not now")

    context.route("**/api/live*", instead)
    page = floor.page(context, cup)
    until(lambda: bool(tried), True)
    shop.say(cup, "trued", "c1")
    page.evaluate("dispatchEvent(new Event('online'))")  # the next heartbeat, at once
    until(lambda: ticked(page), {"t-c1-trued"})
    context.unroute("**/api/live*")
    page.evaluate("dispatchEvent(new Event('online'))")
    shop.say(cup, "closed", "c1")
    until(lambda: ticked(page), {"t-c1-trued", "t-c1-closed"})


def test_ticks_outlive_the_server_and_a_reload(floor, own_shop, until):
    floor.shop, floor.away_is_fine = own_shop, True
    cup = own_shop.keep(goblet())
    page = floor.page(floor.device("Tablet"), cup)
    own_shop.kill()
    rings = ("c1", "c2", "c3", "c4", "c5", "c6", "f1", "f2")
    for ring in rings:
        page.evaluate(f"document.querySelector('#t-{ring}-closed').click()")
    assert page.locator(".tick[data-pending]").count() == 8
    # As it comes, without help: it must be said within 45 s.
    page.wait_for_selector("#not-connected", timeout=45_000)
    own_shop.start()
    page.reload()
    until(lambda: len(ticked(page)), 8, 15.0)
    entries = own_shop.ledger(cup)
    assert [e["subject"] for e in entries] == list(rings)
    assert len({e["id"] for e in entries}) == 8
    # The sheet may show the last of them before its own answer is back.
    until(lambda: [key for key in page.evaluate("Object.keys(localStorage)") if UNSENT in key], [])


def test_leaving_with_ticks_that_wait_asks_first(floor, shop, cup):
    floor.away_is_fine = True
    context = floor.device("Tablet")
    page, elsewhere = floor.page(context, cup), context.new_page()
    elsewhere.goto(f"{shop.url}/office")
    page.bring_to_front()
    context.set_offline(True)
    page.locator("#t-c1-closed").click()
    floor.misses_the_server(page)
    for tab in (page, elsewhere):  # what waits is counted on every page of the device
        expect(tab.locator("#saved")).to_have_text(re.compile("1 tick not\\s*sent yet"))
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.close(run_before_unload=True)
    page.wait_for_event("close")
    assert asked == ["beforeunload"]


def test_what_the_server_does_not_take_is_shown_and_not_lost(floor, shop, cup, until):
    floor.away_is_fine = True
    page = floor.page(floor.device("Tablet"), cup)
    page.evaluate(
        """() => { const b = document.querySelector('#t-c1-closed');
             b.dataset.say = JSON.stringify({kind: 'polished', subject: 'c1', words: 'a polish'});
             b.click(); }"""
    )
    page.wait_for_selector("#refused")
    assert "a polish" in page.locator("#refused").inner_text()
    page.locator("#t-c2-closed").click()
    until(lambda: [e["subject"] for e in shop.ledger(cup)], ["c2"])
    page.reload()
    page.wait_for_selector("#refused")
    page.locator("#refused").click()
    expect(page.locator("#refused")).to_have_count(0)


def test_notes_readings_and_photos_reach_the_other_device(floor, shop, cup, until, tmp_path):
    from PIL import Image

    picture = tmp_path / "ring.png"
    Image.new("RGB", (2400, 1200), (120, 70, 40)).save(picture)
    tablet = floor.page(floor.device("Tablet"), cup)
    phone = floor.page(floor.device("Phone"), cup)
    phone.locator("#air-t").fill("61,7 F")
    phone.locator("#air-h").fill("44")
    phone.locator("#air button").click()
    until(lambda: "16 °C" in tablet.locator(".facts").inner_text(), True)
    phone.locator("#note-about").select_option("c1")
    phone.locator("#note-words").fill("One joint a hair open, inside")
    phone.locator("#note-photo").set_input_files(picture)
    phone.locator("#note button").click()
    tablet.wait_for_selector(".remarks img", state="attached")
    tablet.locator(".remarks img").scroll_into_view_if_needed()
    assert "One joint a hair open" in tablet.locator(".remarks").inner_text()
    until(lambda: tablet.evaluate("document.querySelector('.remarks img').naturalWidth"), 1600)
    kinds = [e["kind"] for e in shop.ledger(cup)]
    assert kinds == ["measured", "measured", "photo"]


def test_a_reading_that_cannot_be_is_said_beside_the_field(floor, shop, cup):
    page = floor.page(floor.device("Tablet"), cup)
    for typed in ("warm", "450", "-80"):
        page.locator("#air-t").fill(typed)
        page.locator("#air button").click()
        assert page.locator("#air [data-wrong]").is_visible()
        assert page.locator("#air-t").input_value() == typed
    assert shop.ledger(cup) == []
