"""Remedies and what-ifs written into the farm's files: exactly the lines that are shown, or said in words.

The farm is the example of four sites with home by 12:00, 240 minutes: A B C take 150 + 50 = 200, D does not fit in. With
30 minutes more all four take 270 (see its farm.toml).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from routing import stages
from routing.farm.models import Farm
from tests.desk.conftest import short_day
from tests.desk.served import Served, served
from tests.share.axe import violations

JUNE, NEXT = dt.date(2026, 6, 10), dt.date(2026, 6, 11)
WHERE = {"on": JUNE.isoformat(), "days": 1}


@pytest.fixture
def desk(folder: Path, tmp_path: Path) -> Iterator[Served]:
    with served(folder, tmp_path) as one:
        yield one


def panel(page: Page) -> None:
    page.locator(".plan-trial").wait_for(state="attached")
    page.locator("#plan-seconds").fill("5")


def farm_now(desk: Served) -> Farm:
    return desk.desk.farm()


@pytest.mark.parametrize("width", [360, 1280])
def test_from_tomorrows_list_a_remedy_shows_its_price_and_is_written_by_keyboard_and_undone(
    desk: Served, browser: Browser, width: int
) -> None:
    file = desk.desk.folder / "farm.toml"
    before = file.read_bytes()
    with desk.opened(browser, width) as opened:
        page = opened.page(f"/tomorrow?on={JUNE}")
        panel(page)
        list_ = page.locator("#left-out-section")
        list_.get_by_role("button", name="What it would cost, for Damson: 30 min later home").press("Enter")
        page.locator(".plan-offer").wait_for(timeout=60_000)
        told = page.locator(".plan-offer").inner_text()
        assert "All 3 musts before dark; the one want." in told
        assert 'home_by = "12:00" # the school run becomes home_by = "12:30" # the school run' in told
        assert file.read_bytes() == before
        assert violations(page) == {}
        page.get_by_role("button", name="Write this into the farm's files").press("Enter")
        page.get_by_text("Written to farm.toml: Damson: 30 min later home.").first.wait_for()
        assert farm_now(desk).crews[0].home_by == dt.time(12, 30)
        page.locator(".plan-trial").wait_for()
        assert "As if" not in page.locator("#plan-panel").inner_text()
        assert violations(page) == {}
        page.get_by_role("button", name="Keep this").press("Enter")
        page.get_by_text("round.json").first.wait_for()
        found = stages.written.written_plan(farm_now(desk), JUNE)
        assert found is not None
        assert {stop.site for stop in found.itineraries[0].stops} == set("ABCD")
        page.goto(f"{desk.desk.access.origin}/tomorrow?on={JUNE}")
        page.get_by_role("button", name="Undo in the files: Damson").press("Enter")
        page.get_by_text("Undone: Damson").wait_for()
        assert file.read_bytes() == before


def test_what_is_taken_as_if_is_written_after_and_then_may_be_kept(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = opened.page(f"/tomorrow?on={JUNE}")
        panel(page)
        page.locator("#left-out-section button", has_text="30 min earlier start").click()
        page.get_by_role("button", name="Take this").click(timeout=60_000)
        page.get_by_text("As if: ").wait_for()
        assert page.get_by_role("button", name="Keep this").is_disabled()
        page.get_by_role("button", name="Write this into the farm's files").click()
        page.get_by_text("Written to farm.toml").first.wait_for()
        assert page.get_by_role("button", name="Keep this").is_enabled()
    assert farm_now(desk).crews[0].earliest_start == dt.time(7, 30)


def test_another_day_is_written_as_a_row_that_begins_then(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = opened.page(f"/tomorrow?on={JUNE}")
        panel(page)
        page.locator("#left-out-section button", has_text="do it on Thursday").click()
        page.locator(".plan-offer").wait_for(timeout=60_000)
        told = page.locator(".plan-offer").inner_text()
        assert f"jobs.csv, line 5 (D, weekly-inspection), not before: empty becomes {NEXT}" in told
        page.get_by_role("button", name="Write this into the farm's files").click()
        page.get_by_text("Changed since this round was written").wait_for()
    (job,) = [one for one in farm_now(desk).jobs if one.site == "D"]
    assert job.not_before == NEXT


def offered(desk: Served) -> str:
    """Ask for the price of the later home, and return the digest that the page would send."""
    asked = {**WHERE, "seen": 0, "for": "remedy", "number": 0, "remedy": 1, "seconds": 5}
    assert desk.post("/plan/search", asked).status == 200
    assert desk.get("/plan/progress").text
    text = desk.get(f"/plan/panel?on={JUNE}").text
    return text.partition('data-base="')[2].partition('"')[0]


def test_two_tabs_and_an_editor_lose_nothing_and_a_full_disk_leaves_what_was_there(
    desk: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = desk.desk.folder / "farm.toml"
    base, before = offered(desk), file.read_bytes()
    assert base

    def full(*_args: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("routing.desk.files.saving.write_new", full)
        refused = desk.post("/plan/files", {**WHERE, "row": 0, "base": base})
        assert (refused.status, file.read_bytes()) == (422, before)
        assert "No space left" in refused.json["lines"][0]
    file.write_bytes(before + b"# mine\n")
    refused = desk.post("/plan/files", {**WHERE, "row": 0, "base": base})
    assert (refused.status, file.read_bytes()) == (422, before + b"# mine\n")
    file.write_bytes(before.replace(b"people = 1", b"people = 2"))
    refused = desk.post("/plan/files", {**WHERE, "row": 0, "base": base})
    assert refused.status == 422
    assert "The farm's files were changed since this was planned" in refused.json["lines"][0]
    file.write_bytes(before)
    assert desk.post("/plan/files", {**WHERE, "row": 0, "base": base}).status == 200
    again = desk.post("/plan/files", {**WHERE, "row": 0, "base": base})
    assert again.status == 422
    assert "not offered any more" in again.json["lines"][0]


def test_nothing_is_written_that_is_not_shown(desk: Served) -> None:
    before = (desk.desk.folder / "farm.toml").read_bytes()
    for fields in ({"row": 0}, {"row": 7}, {"row": "x"}, {"row": None, "seen": 99}, {"row": None, "seen": 0}):
        assert desk.post("/plan/files", {**WHERE, "base": "", **fields}).status == 422
    offered(desk)
    assert desk.post("/plan/files", {**WHERE, "row": 0, "base": "0" * 64}).status == 422
    wrong = {**WHERE, "seen": 0, "for": "remedy", "number": 0, "remedy": 0, "words": "something else"}
    assert desk.post("/plan/search", wrong).status == 422
    assert (desk.desk.folder / "farm.toml").read_bytes() == before


def test_hostile_names_stand_in_the_preview_as_text(tmp_path: Path, browser: Browser) -> None:
    folder = short_day(tmp_path / "farm")
    file = folder / "farm.toml"
    name = "<script>alert(1)</script>"
    file.write_text(file.read_text(encoding="utf-8").replace('name = "One"', f'name = "{name}"'), encoding="utf-8")
    farm = stages.read.farm_in(folder)
    stages.write.write_plan(farm, stages.plan.plan(farm, JUNE))
    with served(folder, tmp_path) as desk:
        offered(desk)
        with desk.opened(browser) as opened:
            page = opened.page(f"/tomorrow?on={JUNE}")
            page.locator(".plan-offer").wait_for()
            assert "<script>alert(1)</script>" in page.locator(".plan-offer").inner_text()
