"""What is worked at most, in Firefox too: every view, a day planned and changed, a cell, the crew's page and the map.

Every message of its console is trouble, what its policy stops among them, as every request to another host is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect

from routing.desk.serving import VIEWS
from tests.desk.grid_bench import cell, until, written
from tests.desk.served import Served, served
from tests.desk.two_crews import two_crews_farm
from tests.share.browser import Opener, no_sideways_scroll
from tests.share.firefox import FIREFOX, program

DATE, NEXT = "2026-12-10", "2026-06-11"
SOON = 60_000
"""Milliseconds that a first plan may take on a crowded computer."""
MAIN = {
    "/tomorrow": "#crews .day-line:visible .span-work",
    "/sites": "#map .leaflet-marker-icon",
    "/jobs": "#grid tbody tr:nth-child(16)",
    "/due": ".due-group summary",
    "/record": "#entry #site",
    "/feed": "main h2 + ul li",
    "/season": "iframe.season",
    "/farm": ".numbers-of summary",
    "/send": ".files a[download]",
}
"""What a view is there for."""


@pytest.fixture(scope="module")
def firefox(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    if FIREFOX is None:
        pytest.skip("no Firefox on this computer")
    started = playwright.firefox.launch(
        executable_path=program(tmp_path_factory.mktemp("firefox")), channel="moz-firefox"
    )
    yield started
    started.close()


def test_every_view_shows_what_it_is_for_and_is_no_wider_than_the_screen(
    example_desk: Served, firefox: Browser
) -> None:
    assert set(MAIN) == {path for path, _ in VIEWS}
    with example_desk.opened(firefox) as opened:
        page = opened.page("/start")
        for path, name in VIEWS:
            page.goto(f"{example_desk.desk.access.origin}{path}?on={DATE}")
            expect(page.locator("nav a[aria-current=page]")).to_have_text(name)
            expect(page.locator(MAIN[path]).first).to_be_visible(timeout=SOON)
            assert no_sideways_scroll(page), path
            if path == "/tomorrow":
                page.frame_locator("#map").locator("[title^='Stop 7:']").press("Enter")
                expect(page.locator("tr.chosen th")).to_have_text(re.compile("Heron Pool"))
            if path == "/season":
                expect(page.frame_locator("iframe.season").locator("main table").first).to_be_visible()
        with page.expect_event("pageerror"):
            page.evaluate("document.head.append(Object.assign(document.createElement('style'), {textContent: 'p {}'}))")
        assert "style-src 'self'" in opened.troubles.pop()  # so what the policy stops would have been told


def _times(page: Page) -> dict[str, str]:
    rows = page.locator(".plan-stops li[data-job]").all()
    return {row.get_attribute("data-name") or "": row.get_attribute("data-arrive") or "" for row in rows}


def test_a_day_is_planned_and_a_stop_moved_by_keys_and_timed_again(firefox: Browser, tmp_path: Path) -> None:
    """The drives of `two_crews.py`; the order A B C D is the quickest for one crew, and both ways round are as long."""
    with served(two_crews_farm(tmp_path / "farm"), tmp_path) as desk, desk.opened(firefox) as opened:
        page = opened.page(f"/tomorrow?on={NEXT}")
        page.get_by_role("button", name="Plan", exact=True).click()
        expect(page.locator("#plan-headline")).to_contain_text("before dark", timeout=SOON)
        planned = _times(page)
        first, second, *others = planned
        page.locator(".plan-stops .grip").first.press("Enter")
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        expect(page.locator("#plan-live")).to_contain_text(f"{first} moved.")
        moved = _times(page)
        assert list(moved) == [second, first, *others]
        assert moved[second] < planned[second]
        assert moved[first] > planned[first]
        page.keyboard.press("Control+z")
        expect(page.locator("#plan-live")).to_contain_text("Taken back")
        assert _times(page) == planned
        page.get_by_role("button", name="Keep this").click()
        expect(page.locator("#answer .headline")).to_contain_text("before dark")
        assert (desk.desk.folder / "rounds" / NEXT / "round.json").is_file()


def test_a_cell_is_written_and_copied_pasted_and_undone_by_keys(own_desk: Served, firefox: Browser) -> None:
    file = own_desk.desk.folder / "sites.csv"
    before = file.read_bytes()
    with own_desk.opened(firefox) as opened:
        page = opened.page("/sites")
        written(page)
        cell(page, 1, "hives").focus()
        page.keyboard.type("11")
        page.keyboard.press("Enter")
        until(page, lambda: file.read_bytes() != before)
        written(page)
        cell(page, 1, "hives").focus()
        page.keyboard.press("Control+c")
        cell(page, 2, "hives").focus()
        page.keyboard.press("Control+v")
        until(page, lambda: file.read_bytes().count(b",11,") == before.count(b",11,") + 2)
        written(page)
        for _ in range(2):
            page.keyboard.press("Control+z")
        until(page, lambda: file.read_bytes() == before)


def test_the_crews_page_and_the_map_open_from_disk_with_no_network(
    written_farm: Path, firefox: Browser, tmp_path: Path
) -> None:
    folder = written_farm / "rounds" / DATE
    opener = Opener(firefox, tmp_path)
    crew = opener((folder / f"{DATE}-rowan.html").read_text(encoding="utf-8"), width=360)
    tick = crew.locator("input[data-job]").first
    tick.check()
    expect(crew.locator("#report")).to_have_value(re.compile(r"^end: 1 done, 8 left$", re.MULTILINE))
    crew.reload()
    expect(tick).to_be_checked()
    assert no_sideways_scroll(crew)
    drawn = opener((folder / "map.html").read_text(encoding="utf-8"))
    drawn.locator("[title^='Stop 4:']").press("Enter")
    expect(drawn.locator(".leaflet-popup-content")).to_contain_text("4 Perry Orchard")
    opener.close()
    assert opener.troubles == []
