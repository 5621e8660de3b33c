"""The view of a day says what the written round says, in the words of every other page, linked with its map."""

from __future__ import annotations

import os
import shutil
from itertools import pairwise

import pytest
from playwright.sync_api import Browser, Page

from routing.round import Round
from routing.share.wording.sheet import round_sheet
from routing.stages.write import write_plan
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Served
from tests.share.sample import HOSTILE, SEEN, hostile_round

DATE = "2026-12-10"


def test_it_says_what_the_sheet_says(example_desk: Served, browser: Browser, hollin_vale: Round) -> None:
    sheet = round_sheet(hollin_vale)
    with example_desk.opened(browser) as opened:
        text = opened.page(f"/tomorrow?on={DATE}").locator("main").inner_text()
    for line in (*sheet.answer, *sheet.chance):
        assert line in text
    for stop in sheet.crews[0].stops:
        assert all(each in text for each in (stop.name, stop.arrive, stop.finish, stop.light_left, *stop.jobs))
    for left in sheet.left_out:
        assert all(each in text for each in (f"{left.name}: {left.reason}", left.text, *left.remedies))
    for time, where in sheet.crews[0].call_ins:
        assert f"{time} {where}" in text
    for load in sheet.crews[0].trips[0].out:
        assert f"{load.name}\t{load.amount}\t{load.packs or 'loose'}" in text


def _top(page: Page, selector: str) -> float:
    box = page.locator(selector).bounding_box()
    assert box is not None, selector
    return box["y"]


TOPS = """() => Array.from(document.querySelectorAll("main :is(a, button, input, summary)")).filter((each) => each.checkVisibility())
  .map((each) => each.getBoundingClientRect()).filter((box) => box.left < window.innerWidth / 2).map((box) => [box.bottom, box.top])"""
"""Bottoms and tops of what the keys stop at, in their order: of a wide screen its left half, the map stands on the right."""


@pytest.mark.parametrize("width", [360, 1280])
def test_the_answer_stands_before_the_form_for_planning_anew(
    example_desk: Served, browser: Browser, width: int
) -> None:
    """In sight as for the keys: what comes first in the page stands first, so no style puts it in another order."""
    with example_desk.opened(browser, width) as opened:
        page = opened.page(f"/tomorrow?on={DATE}")
        page.locator(".plan-form").wait_for()
        assert _top(page, "#answer .headline") < 450
        assert _top(page, "#answer li:last-child >> nth=-1") < _top(page, ".plan-form") < _top(page, "#crews")
        tops = page.evaluate(TOPS)
        assert len(tops) > 10
        assert all(top < after for (_, top), (after, _) in pairwise(tops))
        page.locator("[data-open]").press("Enter")
        assert page.locator("#answer").is_hidden()
        assert _top(page, "#plan-headline") < 450
        assert _top(page, "#plan-headline") < _top(page, "[data-keep]") < _top(page, ".plan-form")
        page.goto(f"{example_desk.desk.access.origin}/tomorrow?on=2026-12-11")
        page.locator(".plan-form").wait_for()
        assert _top(page, ".plan-form .main") < min(600, _top(page, ".empty"))


def test_a_stop_is_chosen_in_list_day_line_and_map_alike(example_desk: Served, browser: Browser) -> None:
    with example_desk.opened(browser) as opened:
        page = opened.page(f"/tomorrow?on={DATE}")
        drawn = page.frame_locator("#map")
        page.locator("button.choose[data-stop='4']").press("Enter")
        assert "4 Perry Orchard" in drawn.locator(".leaflet-popup-content").inner_text()
        assert "4 Perry Orchard" in (page.locator(".day-line g.chosen:visible .what").text_content() or "")
        page.locator(".day-line:visible g[data-stop='2'] .span-work").click()
        drawn.locator(".leaflet-popup-content", has_text="2 Kiln Bank").wait_for()
        assert page.locator("tr.chosen th").inner_text().startswith("Kiln Bank")
        drawn.locator("[title^='Stop 7:']").press("Enter")
        page.locator("tr.chosen th", has_text="Heron Pool").wait_for()
        assert page.locator("button.choose[aria-pressed=true]").all_inner_texts() == ["7"]
        assert drawn.locator("body > header").is_hidden()


def test_the_map_is_shown_in_a_frame_of_no_origin_under_its_own_policy(example_desk: Served) -> None:
    """So nothing in it could ask the desk for anything, whatever became of the file."""
    found = example_desk.get(f"/tomorrow/map?on={DATE}")
    policy = found.headers["content-security-policy"]
    assert policy.endswith("frame-ancestors 'self'; sandbox allow-scripts")
    assert "script-src 'sha256-" in policy
    assert "unsafe" not in policy
    assert "allow-same-origin" not in policy


def test_a_map_that_somebody_changed_is_drawn_anew(own_desk: Served) -> None:
    file = own_desk.desk.folder / "rounds" / DATE / "map.html"
    file.write_text("<script>alert(1)</script>", encoding="utf-8")
    found = own_desk.get(f"/tomorrow/map?on={DATE}").text
    assert "alert(1)" not in found
    assert "Perry Orchard" in found
    assert own_desk.get("/tomorrow/map?on=2026-01-01").status == 404


def test_without_a_round_it_says_so_and_names_the_days_that_have_one(example_desk: Served, browser: Browser) -> None:
    with example_desk.opened(browser) as opened:
        page = opened.page("/tomorrow")
        assert "No round is written for " in page.locator(".empty").inner_text()
        page.locator(".empty a", has_text=DATE).click()
        assert page.locator("h1").inner_text() == "Round for Thursday 10 December 2026"
        page.get_by_label("Date").fill("2026-12-11")
        page.get_by_role("button", name="Show").click()
        assert page.locator("h1").inner_text() == "Round for Friday 11 December 2026"


def test_it_tells_which_files_were_changed_since_the_round_was_written(own_desk: Served) -> None:
    assert "Changed since" not in own_desk.get(f"/tomorrow?on={DATE}").text
    jobs = own_desk.desk.folder / "jobs.csv"
    later = (own_desk.desk.folder / "rounds" / DATE / "round.json").stat().st_mtime_ns + 1
    os.utime(jobs, ns=(later, later))
    assert (
        "<strong>Changed since this round was written:</strong> jobs.csv." in own_desk.get(f"/tomorrow?on={DATE}").text
    )


def test_what_is_wrong_with_the_date_or_the_files_is_told_in_a_line_each(own_desk: Served) -> None:
    for date in ("2026-13-01", "soon", "0001-01-01", "%00", "x" * 5000):
        found = own_desk.get(f"/tomorrow?on={date}")
        assert found.status == 422
        assert "Something must be put right" in found.text
    (own_desk.desk.folder / "sites.csv").write_text("id,nome\n<b>x</b>,y\n", encoding="utf-8")
    found = own_desk.get(f"/tomorrow?on={DATE}")
    assert found.status == 422
    assert "sites.csv:1" in found.text
    shutil.copy(HOLLIN_VALE / "sites.csv", own_desk.desk.folder)
    assert own_desk.get(f"/tomorrow?on={DATE}").status == 200


def test_hostile_words_in_every_field_of_a_round_do_not_run(own_desk: Served, browser: Browser) -> None:
    hostile = hostile_round(HOSTILE)
    write_plan(own_desk.desk.farm(), hostile)
    with own_desk.opened(browser) as opened:
        page = opened.page(f"/tomorrow?on={hostile.dates[0]}")
        assert SEEN in page.locator("main").inner_text()
        page.locator("button.choose").first.click()
        page.frame_locator("#map").locator(".leaflet-popup-content").wait_for()
        assert page.evaluate("typeof window.hurt") == "undefined"
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
