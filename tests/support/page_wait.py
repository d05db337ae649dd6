"""Waiting for a page without code that its content policy would refuse."""

import re
import time
from typing import Any

from playwright.sync_api import Page, expect

PATIENCE_S = 45.0


def until(page: Page, script: str, arg: Any = None) -> None:
    """Ask the page again and again until the script says yes.

    Playwright's own waiting for a function evaluates text inside the page, which `default-src
    'self'` forbids as soon as it is asked a second time.
    """
    end = time.monotonic() + PATIENCE_S
    while not page.evaluate(script, arg):
        assert time.monotonic() < end, f"the page never came to {script} with {arg!r}"
        page.wait_for_timeout(40)


def at_drawing(page: Page, number: int) -> None:
    """Wait until the page shows that drawing."""
    shown = re.compile(rf"drawing {number}$")
    expect(page.locator("#subtitle")).to_have_text(shown)
