"""Due, feed, season and farm say what the commands say, and a due date is cancelled by name."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from routing import stages
from routing.share.wording.due import in_short
from routing.share.wording.farm_numbers import kind_numbers, rule_numbers
from routing.share.wording.feed import feed_blocks
from tests.desk.conftest import make_private
from tests.desk.served import Served, served
from tests.farm_of_twenty import write_farm
from tests.share.axe import violations
from tests.share.browser import no_sideways_scroll

DATE = dt.date(2026, 12, 10)


def test_due_shows_every_item_with_its_day_and_reason(example_desk: Served, browser: Browser) -> None:
    farm = example_desk.desk.farm()
    items = stages.due.due(farm, DATE).items
    assert items
    with example_desk.opened(browser) as opened:
        page = opened.page(f"/due?on={DATE}")
        assert page.locator(".headline").inner_text() == in_short(items)
        rows = page.locator("table.due tbody tr")
        assert rows.count() == len(items)
        for group in page.locator(".due-group details").all():
            if group.get_attribute("open") is None:
                group.locator("summary").press("Enter")
        told = page.locator("main").inner_text()
        assert all(item.kind_name in told and item.site_name in told for item in items)
        assert all((item.waits or item.why) in told for item in items)


def test_a_due_date_is_cancelled_by_name_with_a_reason_by_keyboard_and_undone(
    own_desk: Served, browser: Browser
) -> None:
    with own_desk.opened(browser) as opened:
        page = opened.page(f"/due?on={DATE}")
        rows = page.locator("table.due tbody tr").count()
        page.locator(".due-group summary").first.press("Enter")
        page.locator("button.cancel").first.press("Enter")
        assert violations(page) == {}
        page.keyboard.type("sold <b>all</b> of them")
        page.keyboard.press("Enter")
        page.get_by_text("Cancelled: ").wait_for()
        assert "sold <b>all</b> of them" in page.locator("#messages").inner_text()
        assert page.locator("table.due tbody tr").count() < rows
        page.goto(own_desk.desk.access.origin + "/record")
        cancelled = stages.record.record_of(own_desk.desk.farm()).cancellations
        assert [one.why for one in cancelled] == ["sold <b>all</b> of them"]
    assert own_desk.post("/record/undo").json["lines"][0].startswith("Undone: ")
    assert stages.record.record_of(own_desk.desk.farm()).cancellations == ()


def test_a_cancellation_without_a_reason_or_of_nothing_is_refused(own_desk: Served) -> None:
    item = stages.due.due(own_desk.desk.farm(), DATE).items[0]
    good = {"on": str(DATE), "rule": item.rule, "site": item.site, "why": "sold"}
    for wrong in ({"why": ""}, {"rule": "none-such"}, {"site": "none such"}, {"on": "yesterday"}, {"why": 5}):
        assert own_desk.post("/due/cancel", good | wrong).status == 422, wrong
    assert not (own_desk.desk.folder / "log.sqlite").exists()


def test_feed_says_what_the_command_says(example_desk: Served) -> None:
    farm = example_desk.desk.farm()
    found = example_desk.get(f"/feed?on={DATE}&weeks=8").text
    for heading, lines in feed_blocks(*stages.due.feed(farm, DATE, 8), farm, DATE, 8):
        if lines:
            assert heading in found
    assert example_desk.get("/feed?weeks=0").status == 422
    assert example_desk.get("/feed?weeks=x").status == 422


@pytest.mark.parametrize("width", [360, 1280])
def test_of_many_sites_the_first_few_are_shown_and_the_rest_folded_with_their_count(
    browser: Browser, tmp_path: Path, width: int
) -> None:
    """Twenty sites that were never hefted: in September each is due by its day, so both lists are of twenty."""
    write_farm(tmp_path, 3, hives=8, spread=0.2, jobs=1, hours=0.2)
    with served(tmp_path, tmp_path) as desk, desk.opened(browser, width) as opened:
        page = opened.page("/feed?on=2026-09-10")
        for heading in ("Feed first", "Heft first: nothing is known"):
            block = page.locator("main section", has=page.get_by_role("heading", name=heading))
            lines = block.locator("li:visible").all_inner_texts()
            assert len(lines) == 8
            assert block.locator("summary").inner_text().startswith("12 more")
            block.locator("summary").press("Enter")
            lines = block.locator("li:visible").all_inner_texts()
            assert len({line.partition(",")[0].partition(":")[0] for line in lines}) == 20
        colonies = [int(line.partition(", ")[2].partition(" ")[0]) for line in lines]
        assert {line.partition(": ")[2] for line in lines} == {"by 2026-09-10"}
        assert colonies == sorted(colonies, reverse=True)
        assert colonies[0] > colonies[-1]
        assert violations(page) == {}
        assert no_sideways_scroll(page)


def test_the_season_is_shown_in_a_frame_and_kept_as_a_file(own_desk: Served, browser: Browser) -> None:
    with own_desk.opened(browser) as opened:
        page = opened.page(f"/season?on={DATE}")
        assert page.frame_locator("iframe.season").locator("h1").inner_text().startswith("Season ")
        page.get_by_role("button", name="Keep it as season.html").click()
        page.get_by_text("Written: ").wait_for()
    file = own_desk.desk.folder / "season.html"
    shown = own_desk.get(f"/season/page?on={DATE}")
    assert shown.text == file.read_text(encoding="utf-8")
    assert "sandbox" in shown.headers["content-security-policy"]
    file.write_text("mine", encoding="utf-8")
    assert own_desk.post("/season/keep", {"on": str(DATE)}).status == 422
    assert file.read_text(encoding="utf-8") == "mine"
    assert own_desk.post("/season/keep", {"on": str(DATE), "replace": True}).status == 200


def test_the_farm_shows_every_number_with_its_source_beside_it(example_desk: Served, browser: Browser) -> None:
    farm = example_desk.desk.written_farm()
    with example_desk.opened(browser) as opened:
        page = opened.page("/farm")
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        told = page.locator("main").inner_text()
    for crew in farm.crews:
        assert crew.name in told
    numbers = [*(number for kind in kind_numbers(farm) for number in kind.numbers)]
    numbers += [number for _, group in rule_numbers(farm) for number in group]
    assert len(numbers) > 100
    assert all(number.source for number in numbers)
    for number in numbers:
        if number.way:
            assert f"{number.name}\t{number.value}\t{number.sure}\t{number.source}" in told
        else:
            assert f"\t{number.source}\t" in told, "a limit of the weather, shown as the value that may be changed"


def test_no_view_shows_a_gate_code_a_phone_number_or_a_private_note_unasked(own_farm: Path, own_desk: Served) -> None:
    make_private(own_farm, gate_code="C4711X", phone="01632 960123", private_notes="key under the stone")
    for path in ("/tomorrow", "/due", "/record", "/feed", "/season/page", "/farm", "/send", "/tomorrow/map"):
        found = own_desk.get(f"{path}?on={DATE}")
        assert found.status == 200, path
        assert not any(word in found.text for word in ("C4711X", "960123", "under the stone")), path
