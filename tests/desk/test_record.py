"""What was done is written down by hand or from a helper's report, which is told before a word of it is written."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from routing import stages
from routing.desk.state import today
from routing.farm.folder import read_farm
from routing.round import Round
from routing.share.safety.plan_key import round_key
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Served, served
from tests.share.axe import violations
from tests.share.hostile import TEXTS


def entries(desk: Served) -> list[str]:
    return [entry.kind for entry in stages.record.record_of(desk.desk.farm()).entries]


def test_a_job_is_written_down_in_part_with_what_was_seen_and_used_and_undone(
    own_desk: Served, browser: Browser
) -> None:
    with own_desk.opened(browser) as opened:
        page = opened.page("/record")
        page.get_by_label("Site", exact=True).select_option("Ridge Barn")
        page.get_by_label("Work", exact=True).select_option("Feed fondant")
        page.get_by_label("Date", exact=True).fill("2026-11-01")
        page.get_by_label("Hives", exact=True).fill("3")
        page.get_by_label("Part of the hives").check()
        page.get_by_text("What was seen, and stores").click()
        page.get_by_label("stores low", exact=True).check()
        page.get_by_label("In how many colonies: stores low").fill("2")
        page.get_by_text("What was used").click()
        page.get_by_label("Fondant, kg").fill("7.5")
        page.get_by_label("Note", exact=True).fill("wind")
        page.get_by_label("The log is complete from").first.fill("2026-10-01")
        assert violations(page) == {}
        page.get_by_role("button", name="Write it down").click()
        page.get_by_text("Written: 2026-11-01").wait_for()
        assert "The log counts from" in page.locator("#messages").inner_text()
        (entry,) = stages.record.record_of(own_desk.desk.farm()).entries
        assert (entry.hives, entry.partly, entry.note, entry.materials) == (3, True, "wind", {"fondant": 7.5})
        assert entry.seen_in == {"stores-low": 2}
        page.get_by_role("button", name="Undo what was written last").click()
        page.get_by_text("Undone: 2026-11-01").wait_for()
    assert entries(own_desk) == []


@pytest.mark.parametrize(
    "wrong",
    [
        {"site": ""},
        {"site": "nowhere"},
        {"kind": "dance"},
        {"on": "2999-01-01"},
        {"on": "2198-01-01"},
        {"hives": "many"},
        {"hives": 2.5},
        {"hives": True},
        {"minutes": -1},
        {"minutes": "1e999"},
        {"time": "25:00"},
        {"note": "x" * 100_000},
        {"note": "\ud800"},
        {"product": "Strips"},
        {"people": 0},
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_written(own_desk: Served, wrong: dict[str, object]) -> None:
    good = {"site": "Ridge Barn", "kind": "Feed fondant", "on": "2026-11-01"}
    for path in ("/record/look", "/record/add"):
        found = own_desk.post(path, good | wrong)
        assert found.status == 422
        assert found.json["lines"]
    assert not (own_desk.desk.folder / "log.sqlite").exists()
    will = own_desk.post("/record/look", good).json["will"]
    assert will == ["2026-11-01 Ridge Barn: fondant"] or will[0].startswith("2026-11-01 ")
    assert not (own_desk.desk.folder / "log.sqlite").exists()


def test_hostile_words_are_kept_and_shown_as_words(own_desk: Served, browser: Browser) -> None:
    for text, _ in TEXTS.values():
        own_desk.post("/record/add", {"site": "Ridge Barn", "kind": "storm", "on": "2026-11-01", "note": text[:900]})
    with own_desk.opened(browser) as opened:
        page = opened.page("/record?site=%3Cscript%3E&kind=%22%3E%3Cimg%20src%3Dx%20onerror%3D%22window.hurt%3D1%22%3E")
        assert page.evaluate("typeof window.hurt") == "undefined"
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def report_of(round_: Round) -> str:
    """Return a report of the round: its first job done, the rest left."""
    day = round_.itineraries[0]
    head = f"what-i-did: 1\nround: {round_key(day)}\ncrew: {day.crew}\ndate: {day.date}\nsent: {day.date}T18:00:00Z\n"
    lines = []
    for stop in day.stops:
        lines.append(f"\nsite: {stop.site}")
        lines += [f"{'left' if len(lines) > 1 else f'done: {day.date}T09:00:00Z'} {job.id}" for job in stop.jobs]
    lines = [line.replace("left ", "left: ") for line in lines]
    return head + "\n".join([*lines, "", f"end: 1 done, {sum(len(stop.jobs) for stop in day.stops) - 1} left", ""])


def test_a_report_of_a_day_to_come_is_not_logged(own_desk: Served, hollin_vale: Round) -> None:
    """Only a farm's clock says what is to come: the day is past one day, and then it is taken."""
    if today(own_desk.desk.farm()) >= hollin_vale.dates[0]:
        pytest.skip("the day of the example is past")
    found = own_desk.post("/record/report/look", {"report": report_of(hollin_vale)})
    assert found.json == {"lines": ["2026-12-10 is still to come: the log holds what was done"]}


def test_a_report_is_told_before_it_is_written(browser: Browser, tmp_path: Path) -> None:
    folder = shutil.copytree(HOLLIN_VALE.with_name("four-sites"), tmp_path / "farm")
    farm = read_farm(folder)
    round_ = stages.plan.plan(farm, dt.date(2026, 6, 10))
    stages.write.write_plan(farm, round_)
    with served(folder, tmp_path) as desk, desk.opened(browser) as opened:
        page = opened.page("/record")
        page.get_by_label("Paste the report").fill(report_of(round_))
        page.get_by_role("button", name="See what it says").click()
        page.locator("#said-title", has_text="What one did on Wednesday 10 June 2026").wait_for()
        assert "1 job done, 3 left" in page.locator("#told").inner_text()
        assert page.locator("#will li").count() == 1
        assert violations(page) == {}
        assert entries(desk) == []
        page.get_by_role("button", name="Write this to the log").click()
        page.get_by_text("Written to the log: 1 new entry.").wait_for()
        assert entries(desk) == [round_.itineraries[0].stops[0].jobs[0].kind]
        page.get_by_label("Paste the report").fill(report_of(round_))
        page.get_by_role("button", name="See what it says").click()
        page.get_by_text("Nothing: the log has all of it").wait_for()
        assert page.get_by_role("button", name="Write this to the log").is_disabled()


@pytest.mark.parametrize("text", ["", "hello", "what-i-did: 1\nround: <b>\nend: 1 done, 0 left", "x" * 300_000, 7])
def test_a_text_that_is_no_report_is_told_so(own_desk: Served, text: object) -> None:
    for path in ("/record/report/look", "/record/report/keep"):
        found = own_desk.post(path, {"report": text})
        assert found.status == 422
        assert found.json["lines"]
    assert not (own_desk.desk.folder / "log.sqlite").exists()


def test_the_day_from_which_the_log_counts_is_set(own_desk: Served) -> None:
    assert own_desk.post("/record/begin", {}).status == 422
    found = own_desk.post("/record/begin", {"counts_from": "2026-03-01"})
    assert "The log counts from" in found.json["lines"][0]
    assert stages.record.record_of(own_desk.desk.farm()).counts_from == dt.date(2026, 3, 1)


def test_undo_of_nothing_is_told(tmp_path: Path, written_farm: Path) -> None:
    with served(shutil.copytree(written_farm, tmp_path / "farm"), tmp_path) as desk:
        assert desk.post("/record/undo").json == {"lines": ["there is no log yet: there is nothing to undo"]}
