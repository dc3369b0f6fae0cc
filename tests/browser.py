"""A headless Chromium for the tests of pages. Where there is none they are passed over, and fail for it in CI."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

# Nothing is looked up outside: the tests run where there is no network.
_QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)
_NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


def _program() -> str | None:
    return next(filter(None, map(shutil.which, _NAMES)), None)


def missing() -> str | None:
    """What a browser test lacks on this machine; None where it can run."""
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return "playwright is not installed: pip install -e '.[test]'"
    return None if _program() else "there is no Chromium: apt install chromium"


def require() -> None:
    """Passes a test over where no browser is at hand; in CI that is a failure."""
    lacking = missing()
    if lacking and os.environ.get("CI"):
        pytest.fail(f"the browser tests must run in CI: {lacking}")
    if lacking:
        pytest.skip(lacking)


@contextmanager
def opened() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=_program(), args=_QUIET)
        try:
            yield browser
        finally:
            browser.close()


class Watched:
    """A page in a window of its own, and what went wrong in it: messages of the console, and requests elsewhere."""

    def __init__(self, browser: Browser, width: int = 1280, scheme: Any = "dark") -> None:
        context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
        self.page: Page = context.new_page()
        self.said: list[str] = []
        self.requests: list[str] = []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", lambda request: self.requests.append(request.url))

    def elsewhere(self, here: str) -> list[str]:
        """Requests that went to another place than this."""
        return [url for url in self.requests if not url.startswith((here, "data:"))]


# What follows runs inside the page.

LOW_CONTRAST = """() => {
  const parse = text => { const found = text.match(/[\\d.]+/g).map(Number); return found.length < 4 ? [...found, 1] : found; };
  const light = colour => { const [r, g, b] = colour.slice(0, 3).map(v => { v /= 255;
    return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ground = element => { for (let at = element; at; at = at.parentElement) {
    const colour = parse(getComputedStyle(at).backgroundColor); if (colour[3] > 0) return colour; } return [255, 255, 255, 1]; };
  const low = [], walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let seen = 0;
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement, text = walker.currentNode.textContent.trim();
    if (!text || !element.checkVisibility()) continue;
    const one = light(parse(getComputedStyle(element).color)), other = light(ground(element));
    const ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
    seen += 1;
    if (ratio < 4.5) low.push([text.slice(0, 40), ratio]);
  }
  return {seen, low};
}"""
"""Texts whose computed colours stand out too little (WCAG 2.2, 1.4.3), and how many texts were looked at."""

OVERFLOW = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
"""Pixels by which a page is wider than its window."""

UNNAMED = """() => { const wrong = []; let level = 0;
  for (const each of document.querySelectorAll('h1, h2, h3, h4')) { const now = Number(each.tagName[1]);
    if (now > level + 1) wrong.push('h' + level + ' to h' + now + ': ' + each.textContent); level = now; }
  for (const each of document.querySelectorAll('a[aria-label], button[aria-label]'))
    if (!each.getAttribute('aria-label').includes(each.textContent.trim())) wrong.push(each.outerHTML);
  for (const each of document.querySelectorAll('th:not([scope])')) wrong.push(each.outerHTML);
  return wrong; }"""
"""Headings that skip a level, heads of a table without a scope, and controls called otherwise than what they show.

Source: WCAG 2.2, 1.3.1 and 2.5.3.
"""

EMPTY_SCROLL = """() => [...document.querySelectorAll('.scroll:has(.keys)')]
  .filter(each => each.scrollWidth > each.clientWidth).map(each => each.textContent.trim())"""
"""Drawings of keys that do not fit their place, of which a part is out of sight."""

CONTROLS = """() => [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, summary')]
  .filter(each => each.checkVisibility()).length"""
"""How many controls a page has."""

FOCUSED = """() => { const at = document.activeElement; if (!at || at === document.body) return null;
  const all = [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, summary')];
  const style = getComputedStyle(at);
  return {place: all.indexOf(at), outline: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2}; }"""
"""The control that has the focus, by its place on the page, and whether a frame shows it."""


def tabbed(page: Page, most: int = 400) -> list[dict[str, Any]]:
    """The controls that Tab reaches one after the other, from the top of the page on."""
    found: list[dict[str, Any]] = []
    for _ in range(most):
        page.keyboard.press("Tab")
        at = page.evaluate(FOCUSED)
        if at is None or (at["place"] >= 0 and any(each["place"] == at["place"] for each in found)):
            break
        if at["place"] >= 0:
            found.append(at)
    return found
