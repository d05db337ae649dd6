"""Pages in headless Chromium. Without it the tests skip, in CI they fail."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from page_wait import PATIENCE_S
from page_watch import CHROMIUM, Visitor, chromium_flags, served
from playwright.sync_api import Browser, expect, sync_playwright
from shop_help import shop_app

AXE = Path(__file__).parent / "axe" / "axe.min.js"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if os.environ.get("CI"):
                # A browser on a machine full of other work may stand still for seconds. The report
                # names every test that needed its second run.
                item.add_marker(pytest.mark.flaky(reruns=1))
            elif not CHROMIUM.exists():
                item.add_marker(pytest.mark.skip(reason="there is no Chromium on this machine"))


@pytest.fixture(scope="session")
def page_browser() -> Iterator[Browser]:
    expect.set_options(timeout=PATIENCE_S * 1000)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=chromium_flags())
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def page_app(tmp_path_factory: pytest.TempPathFactory) -> FastAPI:
    """One shop for the tests of a file."""
    app = shop_app(tmp_path_factory.mktemp("pages") / "data", names=("shop.test",))
    app.later.read()
    return app


@pytest.fixture(scope="module")
def page_port(page_app: FastAPI) -> Iterator[int]:
    with served(page_app) as port:
        yield port


@pytest.fixture
def visitor(page_browser: Browser, page_port: int) -> Iterator[Visitor]:
    """Opens pages; a complaint of the console fails the test that caused it."""
    visiting = Visitor(page_browser, page_port)
    yield visiting
    visiting.close()
    assert visiting.complaints == []


@pytest.fixture(scope="session")
def axe_source() -> str:
    return AXE.read_text(encoding="utf-8")
