"""The glue bench for hands with glue on them, eyes at two metres, and no eyes at all."""

import pytest
from axe_check import sideways, small_targets, violations
from live_shop import PHONE, TABLET

pytestmark = pytest.mark.browser

AT_A = {"stack": "low", "faceplate": "A", "glue": "pva-yellow"}
LEAST_PX = 72


def nothing_yet(shop, cup):
    """As kept."""


def pressing(shop, cup):
    shop.say(cup, "clamped", "c1", data={**AT_A, "minutes": 30}, minutes_ago=10)


def overdue(shop, cup):
    shop.say(cup, "clamped", "c1", data={**AT_A, "minutes": 30}, minutes_ago=45)


def contested(shop, cup):
    tick = shop.say(cup, "trued", "c1", device="Tablet")
    shop.say(cup, "undone", "c1", undoes=tick["id"], device="Tablet")
    shop.say(cup, "trued", "c1", device="Phone", seen_seq=0)


def all_on(shop, cup):
    for stack, rings in (("low", ["c1", "c2", "c3"]), ("base", ["f1", "f2"])):
        for ring in rings:
            data = {"stack": stack, "rest_minutes": 30, "cure_hours": 24}
            shop.say(cup, "released", ring, data=data, minutes_ago=100)


STATES = [nothing_yet, pressing, overdue, contested, all_on]
SIZES = (TABLET, PHONE, {"width": 320, "height": 700})


def unroll(page):
    """Let the title block scroll along: what lies under it can be scrolled out from under it."""
    page.evaluate("document.querySelector('.places').style.position = 'static'")


@pytest.mark.parametrize("state", STATES, ids=lambda state: state.__name__)
def test_axe_finds_nothing_and_targets_are_large(floor, shop, cup, axe_source, state):
    state(shop, cup)
    page = floor.page(floor.device("Tablet"), cup)
    for size in SIZES:
        page.set_viewport_size(size)
        unroll(page)
        assert violations(page, axe_source) == [], size
        assert sideways(page) <= 0, size
        small = small_targets(page, LEAST_PX)
        frame = ("A ", "SUMMARY", "BUTTON Will", "INPUT", "SELECT")
        assert [target for target in small if not target.startswith(frame)] == [], size
        assert small_targets(page, 48) == [], size


def test_axe_finds_nothing_out_of_touch_and_unsent(floor, shop, cup, axe_source):
    floor.away_is_fine = True
    context = floor.device("Tablet")
    page = floor.page(context, cup)
    context.set_offline(True)
    page.locator("#t-c1-closed").click()
    floor.misses_the_server(page)
    assert page.locator(".waits[data-waits=c1]").is_visible()
    assert not page.locator(".waits[data-waits=c2]").is_visible()
    for size in (TABLET, PHONE):
        page.set_viewport_size(size)
        unroll(page)
        assert violations(page, axe_source) == [], size
        assert small_targets(page, 48) == [], size


@pytest.mark.parametrize("height", [844, 700])
def test_the_blue_button_is_in_reach_of_the_thumb_whatever_stands_above_it(
    floor, shop, cup, height
):
    floor.away_is_fine = True
    pressing(shop, cup)
    context = floor.device("Phone", PHONE | {"height": height})
    page = floor.page(context, cup)
    context.set_offline(True)
    floor.misses_the_server(page)
    act = page.locator("#act").bounding_box()
    assert act["y"] + act["height"] <= page.locator(".places").bounding_box()["y"]


def test_axe_finds_nothing_in_the_other_papers(floor, shop, cup, axe_source):
    overdue(shop, cup)
    context = floor.device("Tablet", color_scheme="dark")
    page = floor.page(context, cup)
    assert violations(page, axe_source) == []
    context.add_cookies([{"name": "ringwright_theme", "value": "sun", "url": shop.url}])
    page.reload()
    page.wait_for_selector("[data-theme=sun] #bench")
    assert violations(page, axe_source) == []


@pytest.mark.parametrize("percent", ["150", "200"])
def test_larger_nothing_runs_out_sideways(floor, shop, cup, percent):
    pressing(shop, cup)
    context = floor.device("Tablet")
    context.add_cookies([{"name": "ringwright_size", "value": percent, "url": shop.url}])
    page = floor.page(context, cup)
    for size in SIZES:
        page.set_viewport_size(size)
        assert sideways(page) <= 0, size
        count, panel = (page.locator(part).bounding_box() for part in (".count", ".now"))
        assert count["x"] + count["width"] <= panel["x"] + panel["width"]


def test_buttons_that_act_are_wide_and_stand_apart(floor, shop, cup):
    pressing(shop, cup)
    for size in (TABLET, PHONE):
        page = floor.page(floor.device("Tablet", size), cup)
        boxes = page.evaluate(
            """() => [...document.querySelectorAll('#bench .act, #bench .alt, #bench .tick')]
                 .filter(e => e.checkVisibility()).map(e => { const b = e.getBoundingClientRect();
                   return [b.left, b.top, b.right, b.bottom]; })"""
        )
        assert min(right - left for left, _t, right, _b in boxes) >= 96
        for n, a in enumerate(boxes):
            for b in boxes[n + 1 :]:
                across = max(a[0], b[0]) - min(a[2], b[2])
                upright = max(a[1], b[1]) - min(a[3], b[3])
                assert max(across, upright) >= 15.5, (a, b)


def test_the_countdown_is_read_from_two_metres(floor, shop, cup):
    pressing(shop, cup)
    for size, least in ((TABLET, 96), (PHONE, 96)):
        page = floor.page(floor.device("Tablet", size), cup)
        px = page.evaluate(
            "parseFloat(getComputedStyle(document.querySelector('.now .count')).fontSize)"
        )
        assert px >= least


def test_a_keyboard_alone_ticks(floor, shop, cup, until):
    page = floor.page(floor.device("Tablet"), cup)
    page.locator("#t-c1-closed").focus()
    page.keyboard.press("Enter")
    until(lambda: len(shop.ledger(cup)), 1)
    until(
        lambda: page.evaluate("document.activeElement.id"), "t-c1-closed"
    )  # the renewed sheet keeps the place


def test_stillness_is_kept_where_it_is_asked_for(floor, shop, cup):
    overdue(shop, cup)
    page = floor.page(floor.device("Tablet", reduced_motion="reduce"), cup)
    page.wait_for_selector("body.alarm")
    assert page.evaluate("document.getAnimations().length") == 0


def test_the_alarm_flashes_less_than_three_times_a_second(floor, shop, cup):
    overdue(shop, cup)
    page = floor.page(floor.device("Tablet"), cup)
    page.wait_for_selector("body.alarm")
    durations = page.evaluate(
        "document.getAnimations().map(a => a.effect.getComputedTiming().duration)"
    )
    assert durations
    assert all(duration >= 1000 / 3 for duration in durations)
