"""The map beside the sites, and places found by name, in a real browser on the example farm's own road map."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from routing.farm.folder import read_farm
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Opened, Served
from tests.share.axe import violations


@pytest.fixture
def opened(empty_desk: Served, browser: Browser, tmp_path: Path) -> Iterator[Opened]:
    shutil.copytree(HOLLIN_VALE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    empty_desk.desk.open(tmp_path / "farm")
    with empty_desk.opened(browser) as found:
        yield found


def _sites(opened: Opened) -> Page:
    page = opened.page("/sites")
    expect(page.locator("#map [data-line]")).to_have_count(15)
    expect(page.locator("#credit")).to_have_text("Invented map of Hollin Vale", timeout=120_000)
    return page


def _wait(page: Page, number: int) -> None:
    expect(page.locator("#grid-state")).to_contain_text("All is written")
    expect(page.locator("#grid tbody tr")).to_have_count(number)


def test_a_pin_is_moved_by_keys_and_put_back_by_undo(opened: Opened, tmp_path: Path) -> None:
    before = (tmp_path / "farm" / "sites.csv").read_bytes()
    page = _sites(opened)
    pin = page.locator("#map [data-line='2']")
    pin.focus()
    for key in ("Enter", "ArrowUp", "ArrowRight", "Escape"):
        page.keyboard.press(key)
    expect(page.locator("#moving")).to_have_text("Left where it was.")
    assert (tmp_path / "farm" / "sites.csv").read_bytes() == before
    for key in ("Enter", "ArrowUp", "Shift+ArrowRight", "Enter"):
        page.keyboard.press(key)
    expect(page.locator("#grid-undo")).to_have_attribute("title", "Sites: place of mill")
    assert page.evaluate("document.activeElement.dataset.line") == "2"
    was, now = (one.sites[0].place for one in (read_farm(HOLLIN_VALE), read_farm(tmp_path / "farm")))
    assert now.latitude > was.latitude
    assert now.longitude > was.longitude
    assert violations(page) == {}
    page.locator("#grid-undo").click()
    expect(page.locator("#messages")).to_contain_text("Undone.")
    assert (tmp_path / "farm" / "sites.csv").read_bytes() == before


def test_a_pin_is_dragged_by_the_mouse(opened: Opened, tmp_path: Path) -> None:
    page = _sites(opened)
    box = page.locator("#map [data-line='3']").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 16, box["y"] + 16)
    page.mouse.down()
    page.mouse.move(box["x"] + 60, box["y"] + 40, steps=4)
    page.mouse.up()
    expect(page.locator("#grid-undo")).to_have_attribute("title", "Sites: place of orchard")
    assert read_farm(tmp_path / "farm").sites[1].place != read_farm(HOLLIN_VALE).sites[1].place


def test_a_site_is_found_by_name_and_added_there_by_keyboard_alone(opened: Opened, tmp_path: Path) -> None:
    page = _sites(opened)
    page.locator("#look-text").focus()
    page.keyboard.type("mill dri")
    page.keyboard.press("Enter")
    expect(page.locator("#spot")).to_contain_text("Mill Drive (street)")
    expect(page.locator("#spot")).to_contain_text(re.compile("A van stops on .*; walk "), timeout=60_000)
    page.locator("#spot-add").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#grid td:focus")).to_have_count(1)
    page.keyboard.type("Drive")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowRight")
    page.keyboard.type("6")
    page.keyboard.press("Enter")
    _wait(page, 15)
    added = next(site for site in read_farm(tmp_path / "farm").sites if site.id == "drive")
    assert (added.hives, round(added.place.latitude, 3), round(added.place.longitude, 3)) == (6, 52.217, -2.906)
    assert violations(page) == {}


def test_a_place_is_pointed_at_and_the_base_moved_there(opened: Opened, tmp_path: Path) -> None:
    page = _sites(opened)
    page.locator("#map").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#spot-base")).to_be_enabled()
    page.locator("#spot-base").click()
    expect(page.locator("#messages")).to_have_text("The base is moved.")
    moved = read_farm(tmp_path / "farm").base.place
    assert moved != read_farm(HOLLIN_VALE).base.place
    page.locator("#look-text").fill("52.2301, -2.9402")
    page.locator("#look button").first.click()
    expect(page.locator("#spot")).to_contain_text("52.23010, -2.94020 (SO")
    page.locator("#look-text").fill("99, 99")
    page.locator("#look button").first.click()
    expect(page.locator("#messages.trouble")).to_be_visible()
    opened.troubles.clear()  # the console tells of the answer 422


def test_the_map_fits_a_phone(empty_desk: Served, browser: Browser, tmp_path: Path) -> None:
    shutil.copytree(HOLLIN_VALE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    empty_desk.desk.open(tmp_path / "farm")
    with empty_desk.opened(browser, 360) as opened:
        page = _sites(opened)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        assert violations(page) == {}


def test_a_service_is_asked_only_where_the_farm_names_one(opened: Opened) -> None:
    page = _sites(opened)
    assert page.locator("#ask").count() == 0
    reply = opened.served.post("/sites/ask", {"text": "mill"})
    assert reply.status == 422
    assert "names no service" in reply.json["lines"][0]
