"""A round of several days as it is written: each day's answer and line, a switch by mouse and keys, all on paper.

The farm is the example of four sites with home by 11:00, 180 minutes a day: two sites a day, so three days hold all four
in two, and on the third nothing is planned. Site A has a gate code, a phone number and a private note.
"""

from __future__ import annotations

import datetime as dt
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from routing import stages
from routing.round import Round
from routing.share.wording.answer import crew_answer_lines
from routing.share.wording.sheet import round_sheet
from routing.share.wording.words import short_date
from tests.desk.conftest import JUNE, SECRETS, THREE_DAYS, make_private, several_days
from tests.desk.served import Served, served
from tests.share.axe import violations

FIRST, DATES = JUNE, THREE_DAYS
PATH = f"/tomorrow?on={FIRST}&days=3"
TALL_GRIDS = """() => [...document.querySelectorAll("main, main *")].filter((each) => each.checkVisibility()
  && /grid|flex/.test(getComputedStyle(each).display) && getComputedStyle(each).breakInside !== "avoid" && each.getBoundingClientRect().height > 150).map((each) => each.className)"""
"""What may be cut by the end of a sheet and is no block: Chromium prints lines of such a box over each other there."""
WHERE = {"on": FIRST.isoformat(), "days": 3}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    keep = tmp_path_factory.mktemp("several")
    folder = several_days(keep / "farm")
    with served(folder, keep) as one:
        yield one


@pytest.fixture(autouse=True)
def from_what_is_written(desk: Served) -> None:
    assert desk.post("/plan/again", WHERE).status == 200


def written(desk: Served) -> Round:
    found = stages.written.written_plan(desk.desk.farm(), DATES[0], DATES[-1])
    assert found is not None
    return found


def shown(page: Page) -> list[str]:
    return [each.get_attribute("id") or "" for each in page.locator(".one-day:visible").all()]


def test_each_day_has_its_answer_its_line_and_its_list(desk: Served, browser: Browser) -> None:
    round_ = written(desk)
    sheet = round_sheet(round_)
    assert {day.date for day in round_.itineraries} == set(DATES[:2])
    with desk.opened(browser) as opened:
        page = opened.page(PATH)
        assert page.locator("h1").inner_text() == sheet.title
        assert page.locator("[role=tab]").all_inner_texts() == [short_date(date) for date in DATES]
        for index, day in enumerate(round_.itineraries):
            page.locator(f"#tab-{day.date}").click()
            panel = page.locator(f"#day-{day.date}")
            told = panel.inner_text()
            assert all(line in told for line in crew_answer_lines(round_, index))
            assert panel.locator(".day-line:visible").count() == 1
            for stop in sheet.crews[index].stops:
                assert all(each in told for each in (stop.name, stop.arrive, stop.finish, stop.light_left))
        page.locator(f"#tab-{DATES[2]}").click()
        assert "Nothing is planned on this day." in page.locator(f"#day-{DATES[2]}").inner_text()


@pytest.mark.parametrize("width", [360, 1280])
def test_days_are_switched_by_keys_round_and_round_and_the_address_remembers(
    desk: Served, browser: Browser, width: int
) -> None:
    """Source of the keys: WAI-ARIA Authoring Practices 1.2, tabs pattern."""
    ids = [f"day-{date}" for date in DATES]
    with desk.opened(browser, width) as opened:
        page = opened.page(PATH)
        assert shown(page) == ids[:1]
        assert violations(page) == {}
        page.locator("[role=tab][aria-selected=true]").focus()
        for key, day in (
            ("ArrowRight", 1),
            ("ArrowRight", 2),
            ("ArrowRight", 0),
            ("ArrowLeft", 2),
            ("Home", 0),
            ("End", 2),
        ):
            page.keyboard.press(key)
            assert shown(page) == ids[day : day + 1], key
            assert page.evaluate("document.activeElement.id") == f"tab-{DATES[day]}"
        assert page.locator("[role=tab][tabindex='0']").count() == 1
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") == ids[1]
        page.reload()
        assert shown(page) == ids[1:2]
        assert violations(page) == {}
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [360, 1280])
def test_the_answer_of_all_days_is_what_is_seen_first(desk: Served, browser: Browser, width: int) -> None:
    """The first day was written into the address while the page was loaded, and the browser went down to it."""
    with desk.opened(browser, width) as opened:
        page = opened.page(PATH)
        page.locator(".plan-form").wait_for()
        assert page.evaluate("window.scrollY") == 0
        expect(page.locator("#answer .headline")).to_be_in_viewport()
        assert "#" not in page.url


def test_paper_has_every_day(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = opened.page(PATH)
        page.emulate_media(media="print")
        assert shown(page) == [f"day-{date}" for date in DATES]
        assert page.locator("[role=tablist]").is_hidden()
        assert page.evaluate(TALL_GRIDS) == []
        assert page.locator(".private").is_hidden()


def test_a_stop_chosen_on_the_map_brings_its_day_up(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = opened.page(PATH)
        page.frame_locator("#map").locator("[title^='Stop B1:']").press("Enter")
        page.locator("tr.chosen button", has_text="B1").wait_for()
        assert shown(page) == [f"day-{DATES[1]}"]


def test_what_is_written_is_found_by_its_days_and_named_where_there_is_none(desk: Served) -> None:
    assert f"/tomorrow?on={FIRST}&amp;days=3" in desk.get("/tomorrow?on=2026-01-01").text
    for path in (f"/tomorrow?on={FIRST}", f"/tomorrow?on={FIRST}&days=2", f"/tomorrow?on={DATES[1]}&days=2"):
        assert "No round is written for " in desk.get(path).text
    assert desk.get(f"/tomorrow/map?on={FIRST}&days=3").status == 200
    assert desk.get(f"/tomorrow/map?on={FIRST}&days=2").status == 404
    for days in ("0", "32", "x", "1.5"):
        assert desk.get(f"/tomorrow?on={FIRST}&days={days}").status == 422


def test_other_folders_among_the_rounds_are_no_rounds(desk: Served, tmp_path: Path) -> None:
    farm = desk.desk.farm().model_copy(update={"folder": tmp_path})
    for name in ("2026-06-12 to 2026-06-10", "20260610", "2026-06-10 to ", "2026-06-10 to 2026-06-10", "x", " to "):
        (tmp_path / "rounds" / name).mkdir(parents=True)
        (tmp_path / "rounds" / name / "round.json").write_text("{}", encoding="utf-8")
    assert stages.written.written_dates(farm) == ()
    assert stages.written.written_plan(farm, FIRST, DATES[-1]) is None


def test_the_round_of_the_day_that_is_asked_for_is_led_to_first(own_desk: Served) -> None:
    """First what begins on the day, then what holds it, then the last begun; of many that are later none comes between."""
    rounds = own_desk.desk.folder / "rounds"
    shutil.rmtree(rounds, ignore_errors=True)
    for day in range(1, 26):
        name = f"2027-01-{day:02}"
        (rounds / name).mkdir(parents=True)
        (rounds / name / "round.json").write_text("{}", encoding="utf-8")
    for name in ("2026-12-09 to 2026-12-10", "2026-12-10 to 2026-12-12", "2026-12-08"):
        shutil.copytree(rounds / "2027-01-01", rounds / name)
    for view in ("send", "tomorrow"):
        told = re.findall(rf'href="/{view}\?on=[^"]*">([^<]+)</a>', own_desk.get(f"/{view}?on=2026-12-10").text)
        links = [words for words in told if words[:2] == "20"]
        assert links[:3] == ["2026-12-10 to 2026-12-12", "2026-12-09 to 2026-12-10", "2027-01-25"], view
        assert len(links) == 20
        assert len(set(links)) == 20
        last = own_desk.get(f"/{view}?on=2026-12-07&days=2").text
        assert last.index("2026-12-08</a>") < last.index("2027-01-25</a>")


def test_days_changed_by_hand_are_kept_and_come_back_as_days(desk: Served, browser: Browser) -> None:
    before = written(desk)
    with desk.opened(browser) as opened:
        page = opened.page(PATH)
        page.locator("[data-open]").press("Enter")
        page.locator(f'.plan-day[data-day="one|{FIRST}"] [data-step="1"]').first.click()
        page.locator('[data-do="undo"]:not([disabled])').wait_for()
        page.get_by_role("button", name="Keep this").click()
        page.get_by_text("round.json").first.wait_for()
        assert page.url.partition("#")[0].endswith(PATH)
        assert page.locator("[role=tab]").count() == 3
    assert written(desk).itineraries[0].stops[0].site == before.itineraries[0].stops[1].site
    stages.write.write_plan(desk.desk.farm(), before)


@pytest.mark.parametrize("width", [360, 1280])
def test_private_codes_are_in_the_page_only_after_they_were_asked_for(
    desk: Served, browser: Browser, width: int
) -> None:
    for path in (PATH, f"/tomorrow/map?on={FIRST}&days=3", f"/plan/panel?on={FIRST}&days=3"):
        assert not any(secret in desk.get(path).text for secret in SECRETS), path
    with desk.opened(browser, width) as opened:
        page = opened.page(PATH)
        assert not any(secret in page.content() for secret in SECRETS)
        page.get_by_role("button", name="See private codes").press("Enter")
        page.get_by_text("Gate code: C4711X").wait_for()
        told = page.locator("#private-lines").inner_text()
        assert told.split("\n")[0] == "Alder"
        assert all(secret in told for secret in SECRETS)
        assert violations(page) == {}
        page.get_by_role("button", name="Hide private codes").press("Enter")
        assert not any(secret in page.content() for secret in SECRETS)
        page.get_by_role("button", name="See private codes").click()
        page.get_by_text("Gate code: C4711X").wait_for()
        page.goto(f"{desk.desk.access.origin}/due?on={FIRST}")
        page.go_back()
        page.locator("#private-show").wait_for()
        assert not any(secret in page.content() for secret in SECRETS)


def test_private_codes_are_given_to_nobody_but_the_desks_own_page(desk: Served) -> None:
    """It is a change's request: no link, picture or frame of another page can ask for it."""
    assert desk.get("/tomorrow/private").status == 405
    found = desk.post("/tomorrow/private", WHERE)
    assert [site["name"] for site in found.json["sites"]] == ["Alder"]
    assert found.headers["cache-control"] == "no-store"
    assert desk.post("/tomorrow/private", WHERE, origin="https://evil.example").status == 403
    assert desk.post("/tomorrow/private", WHERE, cookie=None).status == 401
    assert desk.post("/tomorrow/private", {"on": "2026-01-01"}).status == 422


def test_hostile_private_words_are_text(own_desk: Served, browser: Browser) -> None:
    hostile = "<img src=x onerror=alert(1)>{{7*7}}"
    make_private(own_desk.desk.folder, gate_code=hostile, phone="01632 960123", private_notes=hostile)
    with own_desk.opened(browser) as opened:
        page = opened.page("/tomorrow?on=2026-12-10")
        page.get_by_role("button", name="See private codes").click()
        page.get_by_text(f"Gate code: {hostile}").first.wait_for()
        assert page.locator("img").count() == 0
        round_ = stages.written.written_plan(own_desk.desk.farm(), dt.date(2026, 12, 10))
        assert round_ is not None
        order = [stop.name for stop in round_.itineraries[0].stops]
        assert page.locator("#private-lines h3").all_inner_texts() == order


def test_without_anything_private_no_button_is_shown(own_desk: Served) -> None:
    assert "private-show" in own_desk.get("/tomorrow?on=2026-12-10").text
    make_private(own_desk.desk.folder, gate_code="", phone="", private_notes="")
    assert "private-show" not in own_desk.get("/tomorrow?on=2026-12-10").text
