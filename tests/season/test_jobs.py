"""Planning takes its jobs from what is due, jobs.csv adds to them, and nothing is dropped on the way."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.farm.models import Farm, Job, Rank
from routing.round import Round
from routing.season.due import Asked, State, due_items
from routing.season.entries import Entry, Record
from routing.season.jobs import with_due_jobs
from routing.season.log import Log
from routing.stages import due as due_stage
from routing.stages import plan as plan_stage
from tests.season.small_farm import day, done, make_farm, write_farm

SPRING = done("cote", "unite", "2026-04-21")


def job_ids(round_: Round) -> list[str]:
    visits = [stop.jobs for itinerary in round_.itineraries for stop in itinerary.stops]
    return sorted(job.id for jobs in (*visits, *(left.jobs for left in round_.left_out)) for job in jobs)


@pytest.mark.parametrize("jobs", [None, "", "site,kind\n"])
def test_a_farm_without_jobs_takes_them_from_what_is_due(tmp_path: Path, jobs: str | None) -> None:
    """An inspection logged at Ash Bank on 1 May: due on 8 May there, and long at the other two."""
    farm = make_farm(tmp_path, jobs=jobs)
    assert farm.jobs == ()
    record = Record(entries=(SPRING, done("ash", "weekly-inspection", "2026-05-01")))
    made = {job.id: job for job in with_due_jobs(due_stage.asked(farm, day("2026-05-08"), record)).jobs}
    job = made["due:weekly-inspection:ash"]
    assert (job.site, job.kind, job.hives, job.rank) == ("ash", "weekly-inspection", 10, Rank.MUST)
    assert (job.not_before, job.due_by) == (day("2026-05-06"), day("2026-05-08"))
    assert {"due:weekly-inspection:beck", "due:weekly-inspection:cote"} <= made.keys()


def made_on(farm: Farm, date: str, *entries: Entry) -> dict[tuple[str, str], list[Job]]:
    """Return the jobs that are made on a date, by site and kind."""
    found: dict[tuple[str, str], list[Job]] = {}
    for job in with_due_jobs(due_stage.asked(farm, day(date), Record(entries=entries))).jobs:
        found.setdefault((job.site, job.kind), []).append(job)
    return found


def test_a_row_of_jobs_csv_and_the_rule_make_one_job_with_what_the_row_pins(tmp_path: Path) -> None:
    """The row has 3 hives, a note and no rank: the rule's must and due date stand, and the other 7 hives are said.

    The log begins on 21 April, a day within the season, so the inspection is surely due a week after.
    """
    rows = "site,kind,hives,note\nash,weekly-inspection,3,the tall ones\nash,unite,1,\n"
    made = made_on(make_farm(tmp_path, jobs=rows), "2026-05-08", SPRING)
    (job,) = made["ash", "weekly-inspection"]
    assert (job.id, job.hives, job.rank, job.due_by) == ("jobs.csv:2", 3, Rank.MUST, day("2026-04-28"))
    assert job.note.startswith("the tall ones; Due by 2026-04-28")
    assert "7 more hives of this site stay due" in job.note
    assert [job.id for job in made["ash", "unite"]] == ["jobs.csv:3"]
    assert [job.id for job in made["beck", "weekly-inspection"]] == ["due:weekly-inspection:beck"]


HUNGRY = done("ash", "heft", "2026-11-20", stores_kg=3.5)


def test_a_row_for_a_later_day_never_hides_what_is_overdue(tmp_path: Path) -> None:
    """Colonies at 3.5 kg are due for feed on the day of the heft, and at once, whatever day and rank a row has."""
    farm = make_farm(tmp_path, jobs="site,kind,not_before,note\nash,fondant,2026-12-01,gate code from Ann\n")
    at = due_stage.asked(farm, day("2026-11-24"), Record(entries=(HUNGRY,)))
    (job,) = [job for job in with_due_jobs(at).jobs if (job.site, job.kind) == ("ash", "fondant")]
    assert (job.id, job.not_before, job.due_by, job.rank) == ("jobs.csv:2", None, day("2026-11-20"), Rank.NOW)
    assert "gate code from Ann" in job.note
    told = [str(warning) for warning in with_due_jobs(at).warnings]
    assert any(text.startswith("jobs.csv:2: Feed fondant at Ash Bank is due by 20 November 2026") for text in told)


def test_a_promised_day_stays_promised_beside_what_is_overdue_before_it(tmp_path: Path) -> None:
    farm = make_farm(tmp_path, jobs="site,kind,promised\nash,fondant,2026-12-01\n")
    both = made_on(farm, "2026-11-24", HUNGRY)["ash", "fondant"]
    assert [(job.id, job.promised) for job in both] == [
        ("jobs.csv:2", day("2026-12-01")),
        ("due:winter-feed:ash", None),
    ]


def test_a_row_may_pin_the_day_where_the_rule_can_wait_for_it(tmp_path: Path) -> None:
    """The inspection is due on 8 May; a row for the 8th keeps it for that day, one for the 9th does not."""
    entries = (SPRING, done("ash", "weekly-inspection", "2026-05-01"))
    for first, kept in (("2026-05-08", True), ("2026-05-09", False)):
        farm = make_farm(tmp_path, jobs=f"site,kind,not_before\nash,weekly-inspection,{first}\n")
        (job,) = made_on(farm, "2026-05-07", *entries)["ash", "weekly-inspection"]
        assert (job.not_before == day(first)) == kept


def test_two_rules_for_one_kind_make_one_job_and_it_is_the_worse(tmp_path: Path) -> None:
    """Stores seen low on 3 February (due by the 6th), and hefted at 1 kg on the same day (due at once)."""
    farm = make_farm(tmp_path)
    entry = done("ash", "heft", "2026-02-03", stores_kg=1, seen=("stores-low",))
    made = with_due_jobs(due_stage.asked(farm, day("2026-02-05"), Record(entries=(entry,)))).jobs
    assert [(job.id, job.due_by) for job in made if job.kind == "fondant"] == [
        ("due:winter-feed:ash", day("2026-02-03"))
    ]


def test_what_is_past_sense_is_told_as_a_warning_with_how_to_cancel_it(tmp_path: Path) -> None:
    farm = make_farm(tmp_path)
    record = Record(entries=(done("cote", "unite", "2025-09-30"), done("cote", "mouse-guards", "2025-10-20")))
    found = with_due_jobs(due_stage.asked(farm, day("2026-06-01"), record))
    assert "due:mouse-guards:ash" not in {job.id for job in found.jobs}
    told = [str(warning) for warning in found.warnings]
    (guards,) = [text for text in told if "Fit mouse guards" in text]
    assert "its season is over: Ash Bank (by 2025-10-24), Beck Side (by 2025-10-24); " in guards
    assert "outyard due cancel FOLDER --rule mouse-guards --site SITE" in guards


def test_everything_due_is_planned_or_left_out_with_a_reason_or_warned_of(tmp_path: Path) -> None:
    """On a short winter's day with much due, the checked round speaks of every item."""
    farm = make_farm(tmp_path)
    log = Log.open(tmp_path)
    log.add_all((done("cote", "heft", "2026-09-20", stores_kg=9), done("beck", "storm", "2026-12-01")))
    date = day("2026-12-03")
    round_ = plan_stage.plan(farm, date)
    items = due_items(Asked(farm, log.record(), date))
    told = job_ids(round_)
    assert len([item for item in items if item.state is State.OVERDUE]) > 10
    for item in items:
        if item.state in {State.OVERDUE, State.DUE}:
            assert any(name.split(":")[2] == item.site for name in told if name.split(":")[1] == item.rule)
        if item.state is State.SEASON_OVER:
            assert any(item.kind_name in text and item.site_name in text for text in round_.warnings)
    assert all(left.text for left in round_.left_out)


def test_a_farm_that_lists_its_jobs_and_keeps_no_log_is_planned_as_it_stands(tmp_path: Path) -> None:
    farm = make_farm(tmp_path, jobs="site,kind\nash,heft\n")
    assert due_stage.with_due(farm, day("2026-12-03")) is farm
    Log.open(tmp_path).add(done("ash", "heft", "2026-12-01"))
    assert len(due_stage.with_due(farm, day("2026-12-03")).jobs) > 1


def test_planning_without_a_log_begins_none(tmp_path: Path) -> None:
    due_stage.with_due(make_farm(tmp_path), day("2026-12-03"))
    assert not (tmp_path / "log.sqlite").exists()


def test_a_farm_of_the_example_reads_the_same_with_and_without_its_rules(tmp_path: Path) -> None:
    """A farm made without the rules of the year has nothing due by itself."""
    farm = read_farm(write_farm(tmp_path)).model_copy(update={"season": None})
    assert with_due_jobs(due_stage.asked(farm, dt.date(2026, 12, 3), Record())) is farm
