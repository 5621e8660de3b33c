"""Farms opened last are offered; a farm is opened by its place in that list alone; the desk can be closed."""

from __future__ import annotations

import json
import shutil
import stat
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from routing.desk.recent import MOST, Recent
from tests.conftest import HOLLIN_VALE
from tests.desk.served import served
from tests.share.axe import violations

FOUR_SITES = HOLLIN_VALE.with_name("four-sites")


def test_a_desk_without_a_farm_offers_those_opened_last(browser: Browser, tmp_path: Path) -> None:
    farm = shutil.copytree(FOUR_SITES, tmp_path / "Four <b>sites")
    Recent(tmp_path / "farms.json").remember(farm)
    with served(None, tmp_path) as desk, desk.opened(browser) as opened:
        page = opened.page("/")
        page.wait_for_url("**/start")
        assert page.locator("nav").count() == 0
        assert violations(page) == {}
        page.get_by_role("button", name="Four <b>sites").click()
        page.wait_for_url("**/tomorrow")
        assert page.locator(".whose").inner_text() == "Four sites"
        assert desk.desk.folder == farm


def test_an_empty_start_says_so(browser: Browser, tmp_path: Path) -> None:
    with served(None, tmp_path) as desk, desk.opened(browser) as opened:
        page = opened.page("/start")
        assert "No farm was opened at this desk yet." in page.locator("main").inner_text()
        assert violations(page) == {}
        assert desk.get("/tomorrow").status == 303


def test_no_path_from_the_browser_is_opened(tmp_path: Path) -> None:
    Recent(tmp_path / "farms.json").remember(shutil.copytree(FOUR_SITES, tmp_path / "mine"))
    with served(None, tmp_path) as desk:
        for fields in (
            {"number": 0, "name": "../mine"},
            {"number": 1, "name": "mine"},
            {"number": -1, "name": "mine"},
            {"number": 0.5, "name": "mine"},
            {"number": "/etc", "name": "mine"},
            {"name": "mine"},
            {"folder": "/etc"},
        ):
            assert desk.post("/start/open", fields).status == 422, fields
            assert not desk.desk.has_farm
        assert desk.post("/start/open", {"number": 0, "name": "mine"}).json == {"go": "/tomorrow"}


def test_the_button_closes_the_desk(browser: Browser, tmp_path: Path) -> None:
    with served(FOUR_SITES, tmp_path) as desk, desk.opened(browser) as opened:
        closed: list[bool] = []
        desk.desk.leave = lambda: closed.append(True)
        page = opened.page("/start")
        page.get_by_role("button", name="Close the desk").click()
        page.get_by_text("The desk is closed").wait_for()
        assert closed == [True]
        assert desk.post("/close").status == 200


def test_the_list_is_its_owners_alone_and_the_last_one_stands_first(tmp_path: Path) -> None:
    recent = Recent(tmp_path / "state" / "farms.json")
    assert recent.folders() == ()
    farms = [shutil.copytree(FOUR_SITES, tmp_path / f"farm {number}") for number in range(MOST + 2)]
    for farm in (*farms, farms[5]):
        recent.remember(farm)
    assert recent.folders()[:2] == (farms[5], farms[-1])
    assert len(recent.folders()) == MOST
    assert stat.S_IMODE(recent.file.stat().st_mode) == 0o600
    shutil.rmtree(farms[5])
    assert farms[5] not in recent.folders()


@pytest.mark.parametrize(
    "text", ["", "{", "[" * 100_000, "{}", "[1, null, {}]", json.dumps(["no/root", "/a\0b", "/gone"])]
)
def test_a_list_that_cannot_be_read_is_none(tmp_path: Path, text: str) -> None:
    recent = Recent(tmp_path / "farms.json")
    recent.file.write_text(text, encoding="utf-8")
    assert recent.folders() == ()
    recent.remember(FOUR_SITES)
    assert recent.folders() == (FOUR_SITES.resolve(),)
