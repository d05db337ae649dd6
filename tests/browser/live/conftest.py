"""A real server and real browsers. A console error or a page error fails the test that saw it."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from live_shop import TABLET, LiveShop, goblet
from playwright.sync_api import Browser, BrowserContext, Page

# What a browser writes by itself when the Wi-Fi is away; the pages say it in their own words.
EXPECTED_AWAY = ("net::ERR_", "Failed to load resource", "htmx:")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveShop]:
    """One server for the tests of a file; each test works on a piece of its own."""
    data = tmp_path_factory.mktemp("shop") / "data"
    running = LiveShop(data, "--empty", "--name", "shop.test").start()
    yield running
    running.stop()


@pytest.fixture
def cup(shop: LiveShop) -> Iterator[str]:
    """A kept piece with three stacks, nothing done yet; put away after the test."""
    piece = shop.keep(goblet())
    yield piece
    shop.put_away(piece)


class Watched:
    """Opens devices; `errors` collects what their consoles complain about."""

    def __init__(self, browser: Browser, shop: LiveShop) -> None:
        self.browser, self.shop = browser, shop
        self.errors: list[str] = []
        self.contexts: list[BrowserContext] = []
        self.away_is_fine = False

    def device(self, name: str, size: dict[str, int] = TABLET, **more: Any) -> BrowserContext:
        context = self.browser.new_context(viewport=size, has_touch=True, **more)
        # Once: a reload must find the same device, and what it keeps.
        context.add_init_script(f"localStorage.setItem('ringwright.device', '{name}')")
        self.contexts.append(context)
        return context

    def page(self, context: BrowserContext, piece: str, origin: str | None = None) -> Page:
        page = context.new_page()
        page.on("console", lambda said: self._hear(said.type, said.text))
        page.on("pageerror", lambda error: self._hear("error", str(error)))
        page.goto(f"{origin or self.shop.url}/pieces/{piece}/glue-bench")
        page.wait_for_selector("#bench")
        return page

    def misses_the_server(self, page: Page) -> None:
        """Let the page try twice at once, in vain, what it tries every few seconds."""
        self.away_is_fine = True
        for _ in range(2):
            page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_selector("#not-connected")

    def _hear(self, kind: str, text: str) -> None:
        away = self.away_is_fine and any(part in text for part in EXPECTED_AWAY)
        if kind in ("error", "warning") and not away:
            self.errors.append(text)


@pytest.fixture
def floor(page_browser: Browser, shop: LiveShop) -> Iterator[Watched]:
    watched = Watched(page_browser, shop)
    yield watched
    for context in watched.contexts:
        context.close()
    assert watched.errors == []


@pytest.fixture
def until() -> Callable[..., Any]:
    """Waits till a value is as wanted, or shows what it was."""
    import time

    def wait(read: Callable[[], Any], wanted: Any, within_s: float = 20.0) -> Any:
        end = time.monotonic() + within_s
        while (found := read()) != wanted and time.monotonic() < end:
            time.sleep(0.05)
        assert found == wanted
        return found

    return wait
