"""Every view in a real browser: it opens with no trouble, fits, and axe finds nothing in it."""

from __future__ import annotations

from typing import Literal

import pytest
from playwright.sync_api import Browser, expect

from routing.desk.serving import VIEWS, WIDE
from tests.desk.served import Served
from tests.share.axe import violations
from tests.share.browser import no_sideways_scroll

DATE = "2026-12-10"
UNFOLD = "for (const each of document.querySelectorAll('details')) each.open = true"
FEWER = """for (const rows of document.querySelectorAll('tbody, section:has(> details)'))
  for (const each of [...rows.querySelectorAll(':scope > tr, :scope > details')].slice(4)) each.remove()"""
"""Leaves of many that are alike the first few: axe looks at every cell."""
LOOKS: tuple[tuple[int, Literal["light", "dark"]], ...] = ((1280, "light"), (360, "dark"))


def paths(desk: Served) -> list[str]:
    """Return every view that there is, on the day of the example."""
    return ["/start", *(f"{path}?on={DATE}" for path, _ in VIEWS if path in desk.desk.paths)]


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
def test_axe_finds_nothing_in_any_view_and_none_is_wider_than_the_screen(
    example_desk: Served, browser: Browser, width: int, scheme: Literal["light", "dark"]
) -> None:
    """Every rule that axe-core has on by default, WCAG 2.2 AA among them."""
    with example_desk.opened(browser, width, color_scheme=scheme) as opened:
        for path in paths(example_desk):
            page = opened.page(path)
            page.evaluate(UNFOLD)
            assert no_sideways_scroll(page), path
            page.evaluate(FEWER)
            assert violations(page) == {}, path
            assert page.locator("h1").count() == 1, path
            page.close()


READ = 1300
"""Pixels that what is read or filled in takes at the most: a button farther from its words is lost."""


def test_a_wide_screen_is_taken_by_maps_and_tables_and_stretches_nothing_else(
    example_desk: Served, browser: Browser
) -> None:
    with example_desk.opened(browser, 1920) as opened:
        for path in paths(example_desk):
            page = opened.page(path)
            page.evaluate(UNFOLD)
            assert no_sideways_scroll(page), path
            box = page.locator("main").bounding_box()
            assert box is not None
            assert (box["width"] > 1800) if path.partition("?")[0] in WIDE else (box["width"] < READ), path
            page.close()


def test_every_view_is_reached_from_every_other_and_says_which_it_is(example_desk: Served, browser: Browser) -> None:
    with example_desk.opened(browser) as opened:
        page = opened.page("/")
        names = page.locator("nav a").all_inner_texts()
        assert names == [name for path, name in VIEWS if path in example_desk.desk.paths]
        for name in names:
            page.locator("nav a", has_text=name).click()
            expect(page.locator("nav a[aria-current=page]")).to_have_text(
                name
            )  # the page before may be there a moment more


def test_scripts_and_styles_are_given_by_name_alone(example_desk: Served) -> None:
    assert example_desk.get("/static/desk.css").headers["content-type"].startswith("text/css")
    assert example_desk.get("/static/_common.js").headers["content-type"].startswith("text/javascript")
    for name in (
        "x",
        "..%2fstate.py",
        "../state.py",
        "%2e%2e/state.py",
        "desk.css/..",
        "__init__.py",
        "%00",
        "/etc/passwd",
    ):
        assert example_desk.get(f"/static/{name}").status in {404, 422}, name
