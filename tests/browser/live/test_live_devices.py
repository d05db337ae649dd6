"""Three devices on one floor: the same on all, each tick once, contradictions settled by a tap."""

import pytest
from live_shop import PHONE
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

STATES = """() => Object.fromEntries([...document.querySelectorAll('.tick')].map(
    (b) => [b.id, b.getAttribute('aria-pressed') === 'true' && !b.dataset.pending]))"""


def on(page):
    return {name for name, ticked in page.evaluate(STATES).items() if ticked}


def tick(page, ring, kind="dry-fitted"):
    page.locator(f"#row-{ring}").evaluate("row => row.classList.add('open')")
    page.locator(f"#t-{ring}-{kind}").click()


def test_a_tick_shows_at_once_and_on_the_other_device(floor, shop, cup, until):
    tablet = floor.page(floor.device("Tablet"), cup)
    phone = floor.page(floor.device("Phone", PHONE), cup)
    phone.wait_for_timeout(500)
    tick(tablet, "c1")
    assert tablet.evaluate(
        "document.querySelector('#t-c1-dry-fitted').dataset.pending === 'yes'"
        " || document.querySelector('#t-c1-dry-fitted').ariaPressed === 'true'"
    )
    until(lambda: on(phone), {"t-c1-dry-fitted"})
    until(lambda: on(tablet), {"t-c1-dry-fitted"})
    (entry,) = shop.ledger(cup)
    assert (entry["kind"], entry["subject"], entry["device"]) == ("dry-fitted", "c1", "Tablet")


def test_the_press_starts_on_one_device_and_counts_on_all_and_any_of_them_undoes_it(
    floor, shop, cup, until
):
    for kind in ("dry-fitted", "halves-glued", "trued", "closed", "flattened"):
        shop.say(cup, kind, "c1")
    tablet = floor.page(floor.device("Tablet"), cup)
    phone = floor.page(floor.device("Phone", PHONE), cup)
    tablet.locator("#act").click()
    for page in (tablet, phone):
        page.wait_for_selector(".now.m-pressing")
        assert page.locator(".now .count").inner_text().startswith(("30:00", "29:5"))
    figures = [page.locator(".now .count").inner_text() for page in (tablet, phone)]
    seconds = [int(m) * 60 + int(s) for m, s in (f.split(":") for f in figures)]
    assert abs(seconds[0] - seconds[1]) <= 1
    phone.locator("#undo").click()
    until(lambda: tablet.locator(".now.m-pressing").count(), 0)
    assert [e["kind"] for e in shop.ledger(cup)][-2:] == ["clamped", "undone"]


def test_out_of_touch_ticks_wait_and_go_once_each_in_order(floor, shop, cup, until):
    floor.away_is_fine = True
    tablet_context = floor.device("Tablet")
    tablet_context.clock.install()
    tablet = floor.page(tablet_context, cup)
    phone = floor.page(floor.device("Phone", PHONE), cup)
    third = floor.page(floor.device("Old tablet"), cup)
    tablet_context.set_offline(True)
    rings = ["c1", "c2", "c3", "f1", "f2"]
    for ring in rings:
        tick(tablet, ring)
    assert tablet.locator(".tick[data-pending]").count() == 5
    floor.misses_the_server(tablet)
    assert "Ticks wait on this device: 5" in tablet.locator("#not-connected").inner_text()
    until(lambda: tablet.locator("#saved").inner_text(), "5 ticks not\nsent yet", 6.0)
    tick(phone, "c6")
    until(lambda: on(third), {"t-c6-dry-fitted"})
    for _ in range(12):  # a minute on the page's own clock, with all that it tries meanwhile
        tablet.clock.fast_forward(5000)
        tablet.wait_for_timeout(50)
    assert tablet.locator("#not-connected").is_visible()
    assert [e["subject"] for e in shop.ledger(cup)] == ["c6"]
    tablet_context.set_offline(False)
    everything = {f"t-{ring}-dry-fitted" for ring in (*rings, "c6")}
    for page in (tablet, phone, third):
        until(lambda page=page: on(page), everything, 10.0)
    expect(tablet.locator("#not-connected")).to_have_count(0)
    entries = shop.ledger(cup)
    assert [e["subject"] for e in entries] == ["c6", *rings]
    assert len({e["id"] for e in entries}) == 6


def test_two_that_contradict_are_both_shown_and_one_tap_settles_it(floor, shop, cup, until):
    floor.away_is_fine = True
    tablet = floor.page(floor.device("Tablet"), cup)
    phone_context = floor.device("Phone", PHONE)
    phone = floor.page(phone_context, cup)
    phone_context.set_offline(True)
    tick(phone, "c1", "trued")
    tick(tablet, "c1", "trued")
    until(lambda: on(tablet), {"t-c1-trued"})
    tick(tablet, "c1", "trued")
    until(lambda: on(tablet), set())
    phone_context.set_offline(False)
    for page in (tablet, phone):
        page.wait_for_selector(".dispute")
        words = page.locator(".dispute").inner_text()
        assert "Tablet: ring 1 not trued" in words
        assert "Phone: ring 1 trued" in words
        assert on(page) == set()
    phone.locator(".dispute button").first.click()
    for page in (tablet, phone):
        until(lambda page=page: on(page), {"t-c1-trued"})
        expect(page.locator(".dispute")).to_have_count(0)
    assert len(shop.ledger(cup)) == 4


def test_a_double_fire_is_one_tick(floor, shop, cup, until):
    tablet = floor.page(floor.device("Tablet"), cup)
    tablet.evaluate(
        "() => { const b = document.querySelector('#t-c1-closed'); b.click(); b.click(); }"
    )
    until(lambda: on(tablet), {"t-c1-closed"})
    tablet.wait_for_timeout(300)
    assert len(shop.ledger(cup)) == 1


def test_a_device_that_is_out_of_touch_can_take_back_what_waits(floor, shop, cup, until):
    floor.away_is_fine = True
    context = floor.device("Tablet")
    tablet = floor.page(context, cup)
    context.set_offline(True)
    tick(tablet, "c1")
    tablet.locator("#undo").click()
    assert tablet.locator(".tick[data-pending]").count() == 0
    context.set_offline(False)
    until(lambda: [e["kind"] for e in shop.ledger(cup)], ["dry-fitted", "undone"], 10.0)
    until(lambda: on(tablet), set())


def test_the_pages_work_on_an_insecure_origin(floor, shop, cup, until):
    origin = f"http://shop.test:{shop.port}"
    page = floor.page(floor.device("Phone", PHONE), cup, origin)
    assert page.evaluate("isSecureContext") is False
    tick(page, "f1")
    until(lambda: on(page), {"t-f1-dry-fitted"})
    page.locator("[data-awake]").click()
    until(lambda: page.locator("[data-awake]").get_attribute("data-awake"), "tried")
