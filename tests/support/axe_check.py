"""axe-core (MPL-2.0, kept under tests/ only): accessibility rules of WCAG 2.2 A and AA."""

from typing import Any

from playwright.sync_api import Page

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def violations(page: Page, axe_source: str) -> list[str]:
    """What axe finds, one line a rule with the first places."""
    page.evaluate(axe_source)
    # On a phone the title block sticks and covers what was not scrolled to yet; axe would take
    # that for being out of reach.
    page.evaluate("document.querySelector('.places').style.position = 'static'")
    found: dict[str, Any] = page.evaluate(
        "tags => axe.run(document, {runOnly: {type: 'tag', values: tags}})", TAGS
    )
    return [
        f"{rule['id']}: {rule['help']} at "
        + "; ".join(str(node["target"]) for node in rule["nodes"][:4])
        for rule in found["violations"]
    ]


def sideways(page: Page) -> int:
    """How many px the page is wider than its window."""
    wide: int = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    return wide


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
