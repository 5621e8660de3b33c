"""A crew's page on a phone: short enough to use with a thumb, and nothing of it lost in its folds or on paper."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from routing.farm.folder import read_farm
from routing.share.pages.helper_page import helper_page
from routing.stages.plan import plan
from routing.travel.background import Background
from tests.share.browser import CHROMIUM, Opener
from tests.share.long_day import long_day
from tests.share.sample import numbered, sample_round
from tests.share.test_map_names import land_of

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no Chromium here")

FOUR_SITES = Path(__file__).parents[2] / "examples" / "four-sites"
PHONE = {"width": 360, "height": 640}
ROADS = Background({}, (), "nobody", land_of(40))
SMALLEST_POINTS = 8
TOO_SMALL = """(points) => {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const holder = walker.currentNode.parentElement;
    const text = walker.currentNode.textContent.trim();
    if (!text || holder.closest("script, style, title")) continue;
    const range = document.createRange();
    range.selectNodeContents(walker.currentNode);
    if (!range.getBoundingClientRect().height || getComputedStyle(holder).visibility !== "visible") continue;
    const svg = holder.closest("svg");
    const scale = svg && svg.viewBox.baseVal ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
    const size = parseFloat(getComputedStyle(holder).fontSize) * scale * 72 / 96;
    if (points - 0.01 > size) found.push([size, text]);
  }
  return found;
}"""


def phone(opened: Opener, stops: int) -> Page:
    page = opened(
        helper_page(long_day(stops), 0, roads=ROADS), folded=True, viewport=PHONE, timezone_id="Europe/London"
    )
    page.clock.set_fixed_time(dt.datetime(2024, 12, 18, 7, 0, tzinfo=dt.UTC))
    page.reload()
    return page


def test_the_first_stop_is_on_the_first_screen_with_its_time_and_its_first_job(opened: Opener) -> None:
    """Above the bar that tells how far behind the crew is, in the morning of the day."""
    round_ = plan(read_farm(FOUR_SITES), dt.date(2026, 6, 10))
    page = opened(helper_page(round_, 0), folded=True, viewport=PHONE, timezone_id="Europe/London")
    page.clock.set_fixed_time(dt.datetime(2026, 6, 10, 6, 0, tzinfo=dt.UTC))
    page.reload()
    bar = page.locator("#pace").bounding_box()
    job = page.locator("#stop-1 .tick").first.bounding_box()
    assert bar is not None
    assert job is not None
    assert job["y"] + job["height"] <= bar["y"]


def test_a_page_of_twelve_stops_is_six_screens_long_at_most(opened: Opener) -> None:
    page = phone(opened, 12)
    assert 2 * 640 < page.evaluate("document.documentElement.scrollHeight") <= 6 * 640


def test_the_map_fills_its_box(opened: Opener) -> None:
    """The signs of all stops and the base reach over four fifths of the frame across or down, two thirds the other way."""
    page = phone(opened, 12)
    box = page.locator(".drawing").bounding_box()
    spots = [each.bounding_box() for each in page.locator(".map .pin, .map .house").all()]
    assert box is not None
    places = [spot for spot in spots if spot is not None]
    wide = max(spot["x"] + spot["width"] for spot in places) - min(spot["x"] for spot in places)
    high = max(spot["y"] + spot["height"] for spot in places) - min(spot["y"] for spot in places)
    assert max(wide / box["width"], high / box["height"]) > 0.8
    assert min(wide / box["width"], high / box["height"]) > 0.66


def test_the_rank_stands_apart_from_the_job_s_name(opened: Opener) -> None:
    page = opened(helper_page(numbered(sample_round()), 0), 360)
    words = page.locator("#stop-A2 .tick").nth(1)
    assert words.locator("strong").inner_text() == "Oxalic treatment, 8 hives"
    assert words.locator(".rank").inner_text() == "must, 3 days overdue"


def test_what_is_folded_opens_by_its_title_and_by_every_link_to_it(opened: Opener) -> None:
    page = phone(opened, 4)
    call = page.locator("a.call")
    expect(call).to_be_hidden()
    page.locator("nav").get_by_text("Emergency").click()
    expect(call).to_be_visible()
    expect(call).to_be_in_viewport()
    page.locator("#load h2 button").click()
    expect(page.locator("#load [data-load]").first).to_be_visible()
    page.locator("#load h2 button").click()
    expect(page.locator("#load [data-load]").first).to_be_hidden()
    page.locator("#stop-3 h3 button").click()
    expect(page.locator("#stop-3 textarea")).to_be_visible()


def test_the_stop_that_comes_next_is_open(opened: Opener) -> None:
    page = phone(opened, 4)
    assert page.locator("#stop-1 textarea").is_visible()
    assert not page.locator("#stop-2 textarea").is_visible()
    page.locator("#stop-1 [data-job]").check()
    assert page.locator("#stop-2 textarea").is_visible()
    assert page.locator("#stop-1 textarea").is_visible()  # a note may still be wanted


def test_the_drive_to_the_next_stop_is_thicker_while_it_is_as_planned(opened: Opener) -> None:
    page = phone(opened, 4)
    box = page.evaluate("document.querySelector('path.next-leg').getBBox().width")
    page.locator("#stop-1 [data-job]").check()
    assert page.locator("path.next-leg").count() == 1
    assert page.evaluate("document.querySelector('path.next-leg').getBBox().width") != box
    page.locator("#stop-3 [data-job]").check()  # out of turn: where the van is now the plan does not say
    assert page.locator("path.next-leg").count() == 0


@pytest.mark.parametrize(("stops", "sides"), [(12, 2), (20, 4)])
def test_twelve_stops_take_one_sheet_of_paper_and_twenty_two(
    opened: Opener, tmp_path: Path, stops: int, sides: int
) -> None:
    """A sheet has two sides; the first of twelve stops' holds stops, load, calls, map and the day's line."""
    page = opened(helper_page(long_day(stops), 0, roads=ROADS), 718, folded=True)
    page.pdf(path=tmp_path / "page.pdf", prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", (tmp_path / "page.pdf").read_bytes())) <= sides
    page.emulate_media(media="print")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    for part in ("#stops", "#load", "#calls", "#map", "#day svg"):
        foot = page.locator(f"{part}:visible").first.bounding_box()
        assert foot is not None
        if stops == 12:
            assert foot["y"] + foot["height"] <= (297 - 16) / 25.4 * 96
    assert page.locator(".places .code").count() == stops
    assert page.locator(".places .code").first.inner_text() == "Way to 1"


def test_nothing_on_paper_is_below_eight_points(opened: Opener) -> None:
    page = opened(helper_page(long_day(12), 0, roads=ROADS), 718, folded=True)
    page.emulate_media(media="print")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.evaluate(TOO_SMALL, SMALLEST_POINTS) == []
    assert len(page.evaluate(TOO_SMALL, 20)) > 100  # it does look
