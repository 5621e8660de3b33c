"""Planning takes its jobs from what is due, jobs.csv adds to them, and nothing is dropped on the way."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing import pipeline
from routing.farm.folder import read_farm
from routing.farm.models import Rank
from routing.round import Round
from routing.season.due import Asked, State, due_items
from routing.season.entries import Record
from routing.season.jobs import with_due_jobs
from routing.season.log import Log
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
    made = {job.id: job for job in with_due_jobs(farm, record, day("2026-05-08")).jobs}
    job = made["due:weekly-inspection:ash"]
    assert (job.site, job.kind, job.hives, job.rank) == ("ash", "weekly-inspection", 10, Rank.MUST)
    assert (job.not_before, job.due_by) == (day("2026-05-06"), day("2026-05-08"))
    assert {"due:weekly-inspection:beck", "due:weekly-inspection:cote"} <= made.keys()


def test_a_row_of_jobs_csv_for_the_same_kind_and_site_wins(tmp_path: Path) -> None:
    farm = make_farm(tmp_path, jobs="site,kind,hives\nash,weekly-inspection,3\nash,unite,1\n")
    made = with_due_jobs(farm, Record(entries=(SPRING,)), day("2026-05-08")).jobs
    assert [(job.id, job.hives) for job in made if job.site == "ash" and job.kind == "weekly-inspection"] == [
        ("jobs.csv:2", 3)
    ]
    assert made[:2] == farm.jobs
    assert "due:weekly-inspection:beck" in {job.id for job in made}


def test_two_rules_for_one_kind_make_one_job_and_it_is_the_worse(tmp_path: Path) -> None:
    """Stores seen low on 3 February (due by the 6th), and hefted at 1 kg on the same day (due at once)."""
    farm = make_farm(tmp_path)
    entry = done("ash", "heft", "2026-02-03", stores_kg=1, seen=("stores-low",))
    made = with_due_jobs(farm, Record(entries=(entry,)), day("2026-02-05")).jobs
    assert [(job.id, job.due_by) for job in made if job.kind == "fondant"] == [
        ("due:winter-feed:ash", day("2026-02-03"))
    ]


def test_what_is_past_sense_is_told_as_a_warning_with_how_to_cancel_it(tmp_path: Path) -> None:
    farm = make_farm(tmp_path)
    record = Record(entries=(done("cote", "unite", "2025-09-30"),))
    found = with_due_jobs(farm, record, day("2026-06-01"))
    assert "due:mouse-guards:ash" not in {job.id for job in found.jobs}
    told = [str(warning) for warning in found.warnings]
    assert any("Fit mouse guards at Ash Bank was due by 2025-10-24" in text for text in told)
    assert any("outyard due cancel FOLDER --rule mouse-guards --site ash" in text for text in told)


def test_everything_due_is_planned_or_left_out_with_a_reason_or_warned_of(tmp_path: Path) -> None:
    """On a short winter's day with much due, the checked round speaks of every item."""
    farm = make_farm(tmp_path)
    log = Log.open(tmp_path)
    log.add_all((done("cote", "heft", "2026-09-20", stores_kg=9), done("beck", "storm", "2026-12-01")))
    date = day("2026-12-03")
    round_ = pipeline.plan(farm, date)
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
    assert pipeline.season(farm, day("2026-12-03")) is farm
    Log.open(tmp_path).add(done("ash", "heft", "2026-12-01"))
    assert len(pipeline.season(farm, day("2026-12-03")).jobs) > 1


def test_planning_without_a_log_begins_none(tmp_path: Path) -> None:
    pipeline.season(make_farm(tmp_path), day("2026-12-03"))
    assert not (tmp_path / "log.sqlite").exists()


def test_a_farm_of_the_example_reads_the_same_with_and_without_its_rules(tmp_path: Path) -> None:
    """A farm made without the rules of the year has nothing due by itself."""
    farm = read_farm(write_farm(tmp_path)).model_copy(update={"season": None})
    assert with_due_jobs(farm, Record(), dt.date(2026, 12, 3)) is farm
