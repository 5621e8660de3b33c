"""Page and map opened from disk in a real browser with no network: nothing is asked for, nothing runs that should not."""

from collections.abc import Callable
from pathlib import Path
from typing import Literal

import pytest

from routing.round import Round
from routing.share.map.map import round_map
from routing.share.pages.page import round_page
from routing.share.wording.sheet import round_sheet
from tests.share.browser import CHROMIUM, Opener, contrast, no_sideways_scroll
from tests.share.sample import HOSTILE, SEEN, hostile_round, sample_round

NAMES = ("Mill Bank", "Long Meadow", "Quarry Top", "Hollow Farm", "Church Orchard", "Upper Dingle")
WIDTHS = (360, 1280)

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")


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
    assert page.locator(".leaflet-control-scale-line").count() == 1  # in the farmer's units alone
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


@pytest.mark.parametrize("make", [round_page, round_map])
def test_on_a_phone_reasons_and_cautions_are_folded_until_asked_for(
    opened: Opener, make: Callable[[Round], str]
) -> None:
    """A wide screen and paper show all of it, and nothing to fold it with."""
    caution = round_sheet(sample_round()).cautions[0]
    page = opened(make(sample_round()), 360)
    told = page.get_by_text(caution, exact=True)
    assert not told.is_visible()
    page.emulate_media(media="print")
    assert told.is_visible()
    page.emulate_media(media="screen")
    page.locator("section", has_text=caution).get_by_label("Show them").press("Space")
    assert told.is_visible()
    wide = opened(make(sample_round()), 1280)
    assert wide.get_by_text(caution, exact=True).is_visible()
    assert not wide.get_by_label("Show them").first.is_visible()
