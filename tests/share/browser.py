"""Documents opened from disk in a real browser with no network, and what can be measured in them."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page

CHROMIUM = shutil.which("chromium-headless-shell") or shutil.which("chromium") or "/usr/bin/chromium"
"""Where there is one, the Chromium without windows, of the same pages and scripts: it takes half the time (of 65 tests of
pages side by side, 39 s of the processor for 90)."""
QUIET = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
)


UNFOLD = "document.querySelectorAll('.shut').forEach((box) => box.querySelector('.fold').click())"
"""Opens all that a crew's page has folded away."""

DRAWN = "new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(drawn))))"
"""Comes true once all that the load began is done and drawn."""
LOOKED = "typeof helper === 'object' && helper.looked ? helper.looked.then(() => null) : null"
"""Comes true once a crew's page has looked in both places where it keeps ticks: a busy Chromium at times finds one empty."""

LATE_SECONDS = 0.15
"""For so long after a page was loaded it may still come to trouble by itself."""


class Opener:
    """Opens a document from disk, offline, and keeps every request, console error and page error as trouble.

    What a page folds away is opened, after each reload too, unless it is asked for as it stands.
    """

    def __init__(self, browser: Browser, folder: Path) -> None:
        self.browser = browser
        self.file = folder / "document.html"
        self._troubles: list[str] = []
        self._contexts: list[BrowserContext] = []
        self._last: tuple[Page, float] | None = None

    @property
    def troubles(self) -> list[str]:
        """What was trouble so far; the page opened last has had the time by then to make some."""
        if self._last is not None:
            page, loaded = self._last
            still = LATE_SECONDS - (time.monotonic() - loaded)
            if still > 0 and not page.is_closed():
                page.wait_for_timeout(1000 * still)
            self._last = None
        return self._troubles

    def __call__(self, html: str, width: int = 1280, before: str = "", *, folded: bool = False, **options: Any) -> Page:
        """Return the opened page; the script `before` runs ahead of the page's own, `options` are the browser's."""
        self.file.write_text(html, encoding="utf-8")
        context = self.browser.new_context(offline=True, **{"viewport": {"width": width, "height": 800}, **options})
        self._contexts.append(context)
        page = context.new_page()
        if before:
            page.add_init_script(before)
        if not folded:
            page.add_init_script(f"window.addEventListener('load', () => {UNFOLD})")
        page.on("console", lambda message: self._troubles.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: self._troubles.append(f"error: {error}"))
        page.on("dialog", lambda dialog: self._troubles.append(f"dialog: {dialog.message}"))
        page.on("request", lambda request: self._request(request.url))
        page.goto(self.file.as_uri())
        page.wait_for_load_state("load")
        if options.get("java_script_enabled", True):
            page.evaluate(DRAWN)
            _look_after_reloads(page)
        self._last = page, time.monotonic()
        return page

    def _request(self, url: str) -> None:
        if url.partition("#")[0] != self.file.as_uri() and not url.startswith(("data:", "blob:")):
            self._troubles.append(f"request: {url}")

    def close(self) -> None:
        """Close every page that was opened, once its troubles are known."""
        _ = self.troubles
        for context in self._contexts:
            context.close()


def _look_after_reloads(page: Page) -> None:
    reload = page.reload

    def reload_and_look() -> None:
        reload()
        page.evaluate(LOOKED)

    setattr(page, "reload", reload_and_look)  # noqa: B010 - a method is not assigned to


def no_sideways_scroll(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


def contrast(page: Page, selector: str) -> float:
    colours = page.locator(selector).first.evaluate(
        """element => { let back = element;
          while (getComputedStyle(back).backgroundColor === 'rgba(0, 0, 0, 0)') back = back.parentElement;
          return [getComputedStyle(element).color, getComputedStyle(back).backgroundColor]; }"""
    )
    light, dark = sorted((luminance(colour) for colour in colours), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    parts = [int(part) / 255 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
