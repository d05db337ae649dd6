"""axe-core (MPL-2.0, kept under tests/ only): accessibility rules of WCAG 2.2 A and AA."""

from collections.abc import Sequence
from typing import Any

from playwright.sync_api import Page

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


THEMES = ("light", "dark", "sun")


def violations(page: Page, axe_source: str) -> list[str]:
    """What axe finds, one line a rule with the first places."""
    page.evaluate(axe_source)
    return _found(page, {"type": "tag", "values": TAGS})


def violations_in(page: Page, axe_source: str, themes: Sequence[str]) -> list[str]:
    """The same in several themes; after the first only contrasts can be others than before."""
    found = []
    for number, theme in enumerate(themes):
        scheme: Any = "dark" if theme == "dark" else "light"
        # Without motion, or a colour would be measured on its way to the next one.
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        page.evaluate("t => document.documentElement.dataset.theme = t", theme)
        if number == 0:
            found += violations(page, axe_source)
        else:
            found += _found(page, {"type": "rule", "values": ["color-contrast"]})
    return found


def _found(page: Page, only: dict[str, Any]) -> list[str]:
    # On a phone the title block sticks and covers what was not scrolled to yet; axe would take
    # that for being out of reach.
    page.evaluate("document.querySelector('.places').style.position = 'static'")
    found: dict[str, Any] = page.evaluate(
        "only => axe.run(document, {runOnly: only, resultTypes: ['violations']})", only
    )
    return [
        f"{rule['id']}: {rule['help']} at "
        + "; ".join(str(node["target"]) for node in rule["nodes"][:4])
        for rule in found["violations"]
    ]


def sideways(page: Page) -> int:
    """How many px the page is wider than its window."""
    # Not against window.innerWidth: a phone's window grows with what is too wide for it.
    wide: int = page.evaluate("document.documentElement.scrollWidth")
    return wide - (page.viewport_size or {"width": 0})["width"]


def small_targets(page: Page, least: int) -> list[str]:
    """Visible things to touch that are lower than `least` px; a box counts with its label."""
    script = """least => [...document.querySelectorAll('a, button, input, select, summary')]
      .filter(e => e.checkVisibility() && !e.closest('.vh, .skip') && e.type !== 'hidden')
      .map(e => [e, (e.type === 'checkbox' || e.type === 'radio') && e.closest('label') || e])
      .filter(([e, t]) => t.getBoundingClientRect().height < least - 0.5
        && getComputedStyle(e).display !== 'inline')
      .map(([e, t]) => `${e.tagName} ${e.textContent.trim().slice(0, 30)} `
        + `${e.name || ''} ${t.getBoundingClientRect().height}`)"""
    found: list[str] = page.evaluate(script, least)
    return found
