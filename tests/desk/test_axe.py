"""What is open at the desk beside the views themselves: dialogs, cells that are written in, faults, empty pages, answers.

Each by every rule that axe-core has on by default, at a phone's and at a desk's width; `test_views.py` looks at the views.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.conftest import HOLLIN_VALE
from tests.desk.served import Opened, Served, served
from tests.share.axe import violations
from tests.share.browser import no_sideways_scroll

DATE = "2026-12-10"
EMPTY = "2027-03-01"
LOOKS: tuple[tuple[int, Literal["light", "dark"]], ...] = ((1280, "dark"), (360, "light"))
FEWER = "for (const row of [...document.querySelectorAll('tbody > tr')].slice(6)) row.remove()"
"""Leaves of many rows that are alike the first few: axe looks at every cell."""


@pytest.fixture(params=LOOKS, ids=lambda look: f"{look[0]} {look[1]}")
def opened(own_desk: Served, browser: Browser, request: pytest.FixtureRequest) -> Iterator[Opened]:
    width, scheme = request.param
    with own_desk.opened(browser, width, color_scheme=scheme) as found:
        yield found


def _good(page: Page) -> None:
    assert no_sideways_scroll(page)
    assert violations(page) == {}


def test_cells_that_are_written_in_chosen_from_and_faulty(opened: Opened) -> None:
    page = opened.page("/sites")
    expect(page.locator("#grid-state")).to_contain_text("All is written", timeout=30_000)
    names = page.locator("#grid thead th").all_inner_texts()

    def cell(column: str) -> None:
        page.keyboard.press("Escape")
        page.locator(f"#grid tbody tr:first-child td:nth-child({names.index(column) + 1})").focus()

    cell("hives")
    page.evaluate(FEWER)
    page.keyboard.press("F2")
    _good(page)
    cell("last of day")
    page.keyboard.press("F2")
    assert page.locator("#grid select:focus").count() == 1
    _good(page)
    cell("notes")
    page.keyboard.press("F2")
    assert page.locator("#grid textarea:focus").count() == 1
    _good(page)
    cell("hives")
    page.keyboard.type("many")
    page.keyboard.press("Enter")
    page.locator("#grid td.faulty").wait_for()
    _good(page)
    page.locator("#grid td.faulty").focus()
    page.keyboard.press("F2")
    _good(page)


def test_what_was_changed_here_and_elsewhere(opened: Opened) -> None:
    page, file = opened.page("/sites"), opened.served.desk.folder / "sites.csv"
    expect(page.locator("#grid-state")).to_contain_text("All is written", timeout=30_000)
    hives = page.locator("#grid thead th").all_inner_texts().index("hives") + 1
    file.write_bytes(file.read_bytes().replace(b'",16,', b'",20,', 1))
    page.locator(f"#grid tbody tr:first-child td:nth-child({hives})").focus()
    page.keyboard.type("11")
    page.keyboard.press("Enter")
    expect(page.locator("#grid-conflict")).to_be_visible(timeout=30_000)
    page.evaluate(FEWER.replace("tbody", "#grid tbody"))
    _good(page)


def test_a_due_date_that_is_to_be_cancelled(opened: Opened) -> None:
    page = opened.page(f"/due?on={DATE}")
    page.locator(".due-group summary").first.click()
    page.locator("button.cancel").first.click()
    expect(page.locator("#cancel")).to_be_visible()
    page.evaluate(FEWER)
    _good(page)


def test_days_that_are_changed_by_hand_asked_about_and_broken(opened: Opened) -> None:
    page = opened.page(f"/tomorrow?on={DATE}")
    page.get_by_role("button", name="Change it by hand").click(timeout=60_000)
    page.locator("#map").evaluate("frame => frame.remove()")  # looked at as a page of its own
    page.locator(".plan-stops li").nth(1).locator("summary").click()
    page.locator(".plan-if summary").click()
    _good(page)
    page.locator(".plan-stops .grip").nth(1).press("Enter")
    page.keyboard.press("ArrowDown")
    _good(page)
    page.keyboard.press("Escape")
    page.locator(".plan-left [data-do='add']").first.click()
    page.locator(".headline.plan-broken").wait_for(timeout=30_000)
    _good(page)


def test_pages_with_nothing_in_them_yet(opened: Opened) -> None:
    for path in (f"/tomorrow?on={EMPTY}", f"/send?on={EMPTY}", "/tomorrow?on=never"):
        page = opened.page(path)
        _good(page)
        page.close()
    opened.troubles[:] = [each for each in opened.troubles if "422" not in each]  # the last one is told as a fault
    folder = opened.served.desk.folder
    for name in ("sites.csv", "jobs.csv"):
        header = (folder / name).read_text(encoding="utf-8").splitlines()[0]
        (folder / name).write_text(f"{header}\n", encoding="utf-8")
    shutil.rmtree(folder / "rounds")
    for path in ("/begin", "/sites", "/jobs"):
        page = opened.page(path)
        _good(page)
        page.close()


def test_a_base_whose_name_means_several_places(browser: Browser, tmp_path: Path) -> None:
    with served(None, tmp_path) as desk, desk.opened(browser, 360) as opened:
        desk.desk.farms, desk.desk.downloads = tmp_path / "farms", tmp_path / "downloads"
        desk.desk.downloads.mkdir()
        shutil.copy(HOLLIN_VALE / "hollin-vale.osm.pbf", desk.desk.downloads)
        page = opened.page("/start")
        page.get_by_label("What the farm is called").fill("Farm")
        page.get_by_label("The county's road map").select_option(index=1)
        page.get_by_label("Where the vehicle is loaded").fill("l")
        page.get_by_role("button", name="Make the farm").click()
        page.locator("#new-choices input").first.wait_for(timeout=30_000)
        _good(page)
