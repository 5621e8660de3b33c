"""Something due is taken into the plan as a row of jobs, said truthfully, undone to the byte; nothing else is lost by it."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from routing import stages
from routing.errors import AskedError
from routing.farm.models import Rank
from routing.season.due import TO_PLAN, DueItem, State
from routing.season.jobs import due_id
from routing.season.log_file import has_log
from tests.conftest import HOLLIN_VALE
from tests.desk.conftest import make_private
from tests.desk.served import Served, served
from tests.share.axe import violations

DATE = dt.date(2026, 12, 10)
JOBS = "jobs.csv"


def listed(desk: Served, on: dt.date = DATE) -> tuple[DueItem, ...]:
    return stages.due.due(desk.desk.farm(), on).items


def fields_of(item: DueItem, on: dt.date = DATE) -> dict[str, object]:
    return {"on": str(on), "rule": item.rule, "sites": [item.site], "by": str(item.due)}


def free(desk: Served, on: dt.date = DATE) -> list[DueItem]:
    """Return what may be taken in."""
    planned = stages.taken.planned_for(desk.desk.farm(), on)
    return [one for one in listed(desk, on) if stages.taken.may_be_taken(one, planned.get((one.site, one.kind)))]


def log_one(desk: Served, kind: str = "storm-check", on: dt.date = dt.date(2026, 10, 1)) -> None:
    farm = desk.desk.farm()
    stages.record.write_down(farm, stages.record.new_entries(farm, "quarry", {"kind": kind, "date": on}), on)


def test_taken_in_by_keyboard_it_stands_in_jobs_and_in_the_plan_and_undo_restores_the_bytes(
    own_desk: Served, browser: Browser
) -> None:
    file = own_desk.desk.folder / JOBS
    before = file.read_bytes()
    item = free(own_desk)[0]
    with own_desk.opened(browser) as opened:
        page = opened.page(f"/due?on={DATE}")
        row = page.locator(f"tr[data-rule={item.rule}][data-site={item.site}]")
        page.locator(f"details[data-rule={item.rule}] summary").press("Enter")
        assert row.locator(".planned").inner_text() == "no"
        row.get_by_role("button", name="Take in").press("Enter")
        page.get_by_text(f"Written to {JOBS}, line ").wait_for()
        assert row.locator(".planned").inner_text().startswith(f"by {JOBS}, line ")
        assert row.get_by_role("button", name="Take in").count() == 0
        assert violations(page) == {}
        assert file.read_bytes().startswith(before)
        job = stages.taken.planned_for(own_desk.desk.farm(), DATE)[item.site, item.kind]
        assert (job.hives, job.due_by, job.rank) == (item.hives, item.due, item.rank)
        page.get_by_role("button", name="Undo in the files: Jobs: ").press("Enter")
        page.get_by_text("Undone: Jobs: ").wait_for()
        assert file.read_bytes() == before
        assert row.locator(".planned").inner_text() == "no"
        page.get_by_role("button", name="Make again in the files: Jobs: ").press("Enter")
        page.get_by_text("Made again: Jobs: ").wait_for()
        assert row.locator(".planned").inner_text().startswith(f"by {JOBS}, line ")


def test_the_farmers_own_columns_order_marks_and_line_ends_stay(own_desk: Served) -> None:
    """A byte order mark, semicolons, CR LF, an unknown column and no line end at the end."""
    file = own_desk.desk.folder / JOBS
    file.write_bytes("\ufeffmine;kind;site;hives;due_by\r\nkeep me;fondant;quarry;3;2026-12-11".encode())
    before = file.read_bytes()
    item = free(own_desk)[0]
    assert own_desk.post("/due/take", fields_of(item)).status == 200
    added = f"\r\n;{item.kind};{item.site};;{item.due};{item.rank};due by the rule {item.rule}"
    after = file.read_bytes()
    assert after.decode().endswith(added), after
    assert after.startswith(before.partition(b"\r\n")[0])
    assert b"\r\nkeep me;fondant;quarry;3;2026-12-11" in after
    mark = own_desk.desk.edits.mark
    assert own_desk.post("/undo", {"mark": mark}).status == 200
    assert file.read_bytes() == before


def test_what_is_not_open_yet_gets_a_row_from_its_day_on(own_desk: Served) -> None:
    on = dt.date(2027, 3, 20)
    item = next(one for one in free(own_desk, on) if one.opens > on)
    assert own_desk.post("/due/take", fields_of(item, on)).status == 200
    job = stages.taken.planned_for(own_desk.desk.farm(), on)[item.site, item.kind]
    assert job.not_before == item.opens
    assert f"from {item.opens}" in own_desk.get(f"/due?on={on}").text


def test_with_a_log_what_is_due_is_in_the_plan_by_its_rule_and_no_row_is_offered(own_desk: Served) -> None:
    log_one(own_desk)
    planned = stages.taken.planned_for(own_desk.desk.farm(), DATE)
    open_now = [one for one in listed(own_desk) if one.state in TO_PLAN and not one.waits]
    assert open_now
    for item in open_now:
        job = planned[item.site, item.kind]
        assert not stages.taken.may_be_taken(item, job)
        assert job.id == due_id(item) or job.line or job.id.startswith("due:")
    assert "yes, by its rule" in own_desk.get(f"/due?on={DATE}").text
    refused = own_desk.post("/due/take", fields_of(open_now[0]))
    assert refused.status == 422
    assert "is in the plan already" in refused.json["lines"][0]


def test_what_is_past_sense_and_what_is_in_passing_can_be_taken_in_with_its_own_rank(own_desk: Served) -> None:
    log_one(own_desk)
    items = free(own_desk)
    kinds = {State.SEASON_OVER, State.UNKNOWN, State.COMING}
    assert items
    assert {one.state for one in items} <= kinds
    item = items[0]
    assert own_desk.post("/due/take", fields_of(item)).status == 200
    job = stages.taken.planned_for(own_desk.desk.farm(), DATE)[item.site, item.kind]
    assert job.line
    assert job.rank is item.rank is not Rank.PASSING


def test_the_first_row_of_a_farm_without_rows_and_log_silences_nothing(tmp_path: Path) -> None:
    """Without a log a table with rows is planned alone: so an empty log is begun with the first row."""
    farm = shutil.copytree(HOLLIN_VALE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds", JOBS))
    with served(farm, tmp_path) as desk:
        before = stages.taken.planned_for(desk.desk.farm(), DATE)
        assert before
        item = free(desk)[0]
        found = desk.post("/due/take", fields_of(item))
        assert found.status == 200, found.text
        assert "The farm's log is begun with it" in found.json["lines"][-1]
        assert has_log(farm)
        after = stages.taken.planned_for(desk.desk.farm(), DATE)
        assert before.keys() <= after.keys()
        assert after[item.site, item.kind].line == 2
        assert desk.post("/undo", {"mark": desk.desk.edits.mark}).status == 200
        assert not (farm / JOBS).exists()
        assert stages.taken.planned_for(desk.desk.farm(), DATE) == before


def test_what_waits_for_something_on_the_hives_is_refused_in_words(own_desk: Served) -> None:
    """A row for it would make planning refuse the whole day."""
    log_one(own_desk, "strips-in", dt.date(2026, 8, 10))
    date = dt.date(2027, 5, 5)
    waiting = [one for one in listed(own_desk, date) if one.waits]
    found = own_desk.post("/due/take", fields_of(waiting[0], date))
    assert found.status == 422
    assert "after Medicine strips out" in found.json["lines"][0]
    stages.taken.planned_for(own_desk.desk.farm(), date)


@pytest.mark.parametrize(
    "wrong",
    [
        *({"rule": "none-such"}, {"by": "2026-12-11"}, {"by": ""}, {"on": "x"}, {"rule": 4}),
        *(
            {"sites": ["none"]},
            {"sites": []},
            {"sites": [""]},
            {"sites": "quarry"},
            {"sites": [4]},
            {"sites": ["a"] * 3000},
        ),
    ],
)
def test_nothing_is_taken_in_that_is_not_listed(own_desk: Served, wrong: dict[str, object]) -> None:
    file = own_desk.desk.folder / JOBS
    before = file.read_bytes()
    item = free(own_desk)[0]
    assert own_desk.post("/due/take", {**fields_of(item), **wrong}).status == 422
    assert file.read_bytes() == before


def test_two_tabs_take_the_same_in_once_and_undo_only_what_they_saw(own_desk: Served) -> None:
    file = own_desk.desk.folder / JOBS
    one, other = free(own_desk)[:2]
    first_saw = own_desk.desk.edits.mark
    assert own_desk.post("/due/take", fields_of(one)).status == 200
    again = own_desk.post("/due/take", fields_of(one))
    assert again.status == 422
    assert own_desk.post("/due/take", fields_of(other)).status == 200
    both = file.read_bytes()
    for path in ("/undo", "/undo/again"):
        assert own_desk.post(path, {"mark": first_saw}).status == 422
    assert file.read_bytes() == both
    file.write_bytes(both + b"\n# mine\n")
    refused = own_desk.post("/undo", {"mark": own_desk.desk.edits.mark})
    assert refused.status == 422
    assert "changed elsewhere" in refused.json["lines"][0]


def test_a_day_that_planning_refuses_is_told_and_offers_nothing(
    own_desk: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(*_args: object) -> None:
        raise AskedError("jobs.csv:4: supers may not be beside strips")

    monkeypatch.setattr("routing.stages.taken.to_plan", refuses)
    shown = own_desk.get(f"/due?on={DATE}").text
    assert "This day cannot be planned yet" in shown
    assert "supers may not be beside strips" in shown
    assert 'class="take"' not in shown


def test_a_rule_is_cancelled_at_every_site_at_once(own_desk: Served, browser: Browser) -> None:
    item = listed(own_desk)[0]
    sites = {one.site for one in listed(own_desk) if one.rule == item.rule}
    with own_desk.opened(browser, 360) as opened:
        page = opened.page(f"/due?on={DATE}")
        page.locator(".due-group summary").first.click()
        page.locator("button.cancel").first.click()
        page.get_by_label("Why").fill("no mice")
        page.get_by_label("At every site where this rule is listed").check()
        page.get_by_role("button", name="Cancel this due date").click()
        page.get_by_text("Cancelled: ").first.wait_for()
    gone = stages.record.record_of(own_desk.desk.farm()).cancellations
    assert {one.site for one in gone} == sites
    assert len(sites) > 1


def test_a_disk_without_room_leaves_what_was_there(own_desk: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    file = own_desk.desk.folder / JOBS
    before, names = file.read_bytes(), sorted(path.name for path in file.parent.iterdir())

    def full(*_args: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("routing.desk.files.saving.write_new", full)
    found = own_desk.post("/due/take", fields_of(free(own_desk)[0]))
    assert found.status == 422
    assert "No space left on device" in found.json["lines"][0]
    assert file.read_bytes() == before
    assert sorted(path.name for path in file.parent.iterdir()) == names


def test_hostile_names_of_sites_and_kinds_are_text_in_the_list_and_in_what_is_told(
    own_desk: Served, browser: Browser
) -> None:
    hostile = "<img src=x onerror=alert(1)>{{7*7}}"
    make_private(own_desk.desk.folder, name=hostile)
    file = own_desk.desk.folder / "farm.toml"
    own = f"[job_kind.mouse-guards]\nname = '{hostile}'\n"
    file.write_text(file.read_text(encoding="utf-8") + own, encoding="utf-8")
    with own_desk.opened(browser) as opened:
        page = opened.page(f"/due?on={DATE}")
        page.locator(".due-group summary", has_text=hostile).first.click()
        page.get_by_role("button", name=f"Take in: {hostile} at {hostile}").first.click()
        page.get_by_text(f"Written to {JOBS}").wait_for()
        assert page.get_by_role("button", name=f"Undo in the files: Jobs: {hostile} at {hostile}").count() == 1
        page.locator("button.cancel").first.click()
        assert page.locator("#cancel-name").inner_text() == f"Cancel: {hostile} at {hostile}"
        assert page.locator("img").count() == 0


def test_all_sites_of_a_rule_are_taken_in_by_one_press_and_undone_by_one(own_desk: Served, browser: Browser) -> None:
    """A row a site that was not in the plan, those that were stay as they are; undo gives the bytes back."""
    table = own_desk.desk.folder / JOBS
    before = table.read_bytes()
    farm = own_desk.desk.farm()
    had = {job.site for job in farm.jobs if job.kind == "insulation"}
    with own_desk.opened(browser) as opened:
        page = opened.page(f"/due?on={DATE.isoformat()}")
        group = page.locator(".due-group", has=page.locator("details[data-rule=insulation]"))
        button = group.locator("button.take-all")
        assert not group.locator("tbody tr").first.is_visible()
        with page.expect_navigation():
            button.press("Enter")
        assert not group.locator("button.take-all").count()
        assert "not in the plan" not in group.locator("summary").inner_text()
        group.locator("summary").press("Enter")
        assert group.locator("tbody tr").first.is_visible()
        told = own_desk.desk.farm().jobs
        assert had
        assert sorted(job.site for job in told if job.kind == "insulation") == sorted(
            site.id for site in farm.sites if site.colonies
        )
        assert violations(page) == {}
        with page.expect_navigation():
            page.locator("button", has_text="Undo in the files").press("Enter")
        assert group.locator("tbody tr").first.is_visible()
    assert table.read_bytes() == before
    gone = own_desk.post(
        "/due/take", {"on": DATE.isoformat(), "rule": "insulation", "by": "2026-01-01", "sites": ["kiln", "larch"]}
    )
    assert gone.status == 422
    assert "is not listed any more" in gone.text
    assert table.read_bytes() == before


def test_what_is_taken_in_by_one_press_is_what_stands_under_it(own_desk: Served, browser: Browser) -> None:
    """A rule may stand twice for one day, for two reasons: each press takes in the sites of its own list alone."""
    log_one(own_desk, "heft", dt.date(2026, 11, 20))
    (own_desk.desk.folder / JOBS).unlink()
    with own_desk.opened(browser) as opened:
        page = opened.page(f"/due?on={DATE}")
        for group in page.locator(".due-group").all():
            sites = [row.get_attribute("data-site") for row in group.locator("tr", has=page.locator(".take")).all()]
            button = group.locator("button.take-all")
            assert bool(button.count()) == (len(sites) > 1)
            if sites[1:]:
                assert json.loads(button.get_attribute("data-sites") or "") == sites
    every = free(own_desk)
    some = [one for one in every if one.rule == every[0].rule][:3]
    taken = own_desk.post("/due/take", fields_of(some[0]) | {"sites": [one.site for one in some[:2]]})
    assert taken.status == 200, taken.text
    assert [job.site for job in own_desk.desk.farm().jobs] == [one.site for one in some[:2]]


def test_without_a_log_what_is_in_the_plan_is_what_has_a_row(own_desk: Served) -> None:
    """The list says so: planning takes the rows alone, and nothing else of it."""
    items, planned = listed(own_desk), stages.taken.planned_for(own_desk.desk.farm(), DATE)
    of_list = [planned[one.site, one.kind] for one in items if (one.site, one.kind) in planned]
    assert of_list
    assert all(job.line for job in of_list)
    told = own_desk.get(f"/due?on={DATE}").text
    assert "planning takes those alone, and nothing else of this list, until something is logged" in told
