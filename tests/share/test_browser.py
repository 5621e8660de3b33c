"""Page and map opened from disk in a real browser with no network: nothing is asked for, nothing runs that should not."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from routing.round import Round
from routing.share.map import round_map
from routing.share.page import round_page
from tests.share.sample import HOSTILE, SEEN, hostile_round, sample_round

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
QUIET = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
)
NAMES = ("Mill Bank", "Long Meadow", "Quarry Top", "Hollow Farm", "Church Orchard", "Upper Dingle")
WIDTHS = (360, 1280)

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield started
        started.close()


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator["Opener"]:
    opener = Opener(browser, tmp_path)
    yield opener
    opener.close()
    assert opener.troubles == []


class Opener:
    """Opens a document from disk, offline, and keeps every request, console error and page error as trouble."""

    def __init__(self, browser: Browser, folder: Path) -> None:
        self.browser = browser
        self.file = folder / "document.html"
        self.troubles: list[str] = []
        self._contexts = [browser.new_context(offline=True)]

    def __call__(self, html: str, width: int = 1280) -> Page:
        self.file.write_text(html, encoding="utf-8")
        context = self.browser.new_context(offline=True, viewport={"width": width, "height": 800})
        self._contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: self.troubles.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: self.troubles.append(f"error: {error}"))
        page.on("dialog", lambda dialog: self.troubles.append(f"dialog: {dialog.message}"))
        page.on("request", lambda request: self._request(request.url))
        page.goto(self.file.as_uri())
        page.wait_for_load_state("load")
        page.wait_for_timeout(150)
        return page

    def _request(self, url: str) -> None:
        if url.partition("#")[0] != self.file.as_uri() and not url.startswith("data:"):
            self.troubles.append(f"request: {url}")

    def close(self) -> None:
        for context in self._contexts:
            context.close()


def no_sideways_scroll(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_opens_and_fits(opened: Opener, width: int) -> None:
    page = opened(round_page(sample_round()), width)
    for name in NAMES:
        assert page.get_by_text(name, exact=True).first.is_visible()
    assert no_sideways_scroll(page)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_map_opens_fits_and_shows_every_stop(opened: Opener, width: int) -> None:
    page = opened(round_map(sample_round()), width)
    for mark in ("A1", "A2", "A3", "A4", "B1", "B2"):
        assert page.locator(".map .pin", has_text=mark).count() == 1
    for name in NAMES:
        assert page.locator(f'.map [title*="{name}"]').count() == 1
        assert page.locator("aside").get_by_text(name, exact=True).count() == 1
    assert page.locator(".map .pin-out").count() == 2  # the third is not due yet and has no sign
    assert page.locator(".map .house").count() == 1
    assert page.locator(".map .arrow").count() == 8  # four stops and home, two stops and home
    assert page.locator(".map path.way").count() == 2
    assert page.locator(".leaflet-control-scale-line").count() == 2
    assert no_sideways_scroll(page)


def test_every_marker_lies_inside_the_map_at_once(opened: Opener) -> None:
    for width in WIDTHS:
        page = opened(round_map(sample_round()), width)
        box = page.locator(".map").bounding_box()
        assert box is not None
        for pin in page.locator(".map .pin").all():
            at = pin.bounding_box()
            assert at is not None
            assert box["x"] <= at["x"]
            assert at["x"] + at["width"] <= box["x"] + box["width"]
            assert box["y"] <= at["y"]
            assert at["y"] + at["height"] <= box["y"] + box["height"]


def test_a_popup_opens_by_keyboard_with_times_and_light(opened: Opener) -> None:
    page = opened(round_map(sample_round()))
    page.locator('.map [title*="Hollow Farm"]').focus()
    page.keyboard.press("Enter")
    popup = page.locator(".leaflet-popup-content")
    popup.wait_for()
    assert "1 h 11 of light left" in popup.inner_text()
    assert "Feed fondant, 12 hives" in popup.inner_text()


def test_nothing_in_the_page_or_map_leads_to_another_place(opened: Opener) -> None:
    for html in (round_page(sample_round()), round_map(sample_round())):
        page = opened(html)
        assert page.locator("a[href^=http], iframe, object, embed, link, form, img[src]").count() == 0


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("text", [HOSTILE, "W" * 10_000])
def test_hostile_names_do_not_run_and_do_not_widen_the_page(opened: Opener, width: int, text: str) -> None:
    round_ = hostile_round(text)
    for html in (round_page(round_), round_map(round_)):
        page = opened(html, width)
        assert page.evaluate("typeof window.hurt") == "undefined"
        assert no_sideways_scroll(page)
        if text == HOSTILE:
            assert SEEN in page.locator("body").inner_text()


def test_hostile_names_do_not_run_in_an_opened_popup(opened: Opener) -> None:
    page = opened(round_map(hostile_round()))
    page.locator('.map [title^="Stop A1"]').focus()
    page.keyboard.press("Enter")
    popup = page.locator(".leaflet-popup-content")
    popup.wait_for()
    assert SEEN in popup.inner_text()
    assert popup.locator("img, script").count() == 0
    assert page.evaluate("typeof window.hurt") == "undefined"


@pytest.mark.parametrize("make", [round_page, round_map])
def test_printing_gives_a_pdf_of_a_few_pages(opened: Opener, make: Callable[[Round], str], tmp_path: Path) -> None:
    page = opened(make(sample_round()))
    target = tmp_path / "print.pdf"
    page.pdf(path=target, prefer_css_page_size=True)
    content = target.read_bytes()
    assert content.startswith(b"%PDF-")
    # A4 is 210 mm by 297 mm, 595 by 842 points. Source: ISO 216.
    assert b"/MediaBox [0 0 594.95996 841.91998]" in content or b"/MediaBox [0 0 595" in content


def test_in_print_the_map_fills_the_width_of_the_paper(opened: Opener) -> None:
    page = opened(round_map(sample_round()))
    page.emulate_media(media="print")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    box = page.locator(".drawing").bounding_box()
    assert box is not None
    assert box["width"] == pytest.approx(184 / 25.4 * 96, abs=1)  # CSS: 96 pixels an inch
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.locator("html.printing").count() == 0


def test_dark_and_light_both_read_well(opened: Opener) -> None:
    """Body text keeps at least 7 to 1. Source: WCAG 2.2, success criterion 1.4.6, contrast by its relative luminance."""
    page = opened(round_page(sample_round()))
    schemes: tuple[Literal["light", "dark"], ...] = ("light", "dark")
    for scheme in schemes:
        page.emulate_media(color_scheme=scheme)
        for selector in ("body", ".soft", ".mark"):
            assert contrast(page, selector) >= 7


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
