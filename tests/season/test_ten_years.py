"""Ten invented years on a farm of three sites, from due to planned to logged: no job is forgotten."""

from __future__ import annotations

import datetime as dt
import random
from collections import Counter
from pathlib import Path

from routing import pipeline
from routing.farm.models import Farm, Job
from routing.memory import past_visits
from routing.season.due import Asked, State, due_items, open_due
from routing.season.entries import Entry, Record
from routing.season.jobs import with_due_jobs
from routing.season.learn import learn, with_learned
from routing.season.log import Log
from routing.season.records import VisitRecord
from tests.season.small_farm import make_farm

FIRST = dt.date(2026, 9, 1)
YEARS = 10
STEP = dt.timedelta(days=10)
MOST_JOBS_A_ROUND = 12
"""The trivial planner does so many of the due jobs, the worst first, so that some always wait."""
TRUE_PACE = 1.3
"""On this farm a visit of n hives truly takes 1.3 times 10 + 4n minutes, give or take a fifth."""
REAL_DATES = {FIRST + STEP * number for number in (7, 24, 60, 210)}


def logged(job: Job, date: dt.date, chance: random.Random) -> Entry:
    """Return the entry of a job done: hefts tell the stores, feeds what was used, some see a storm's harm or hunger."""
    used = {"fondant": 2.5 * job.hives} if job.kind == "fondant" else {}
    used |= {"syrup": 8.0 * job.hives} if job.kind == "syrup" else {}
    return Entry(
        date=date,
        site=job.site,
        kind=job.kind,
        minutes=round(TRUE_PACE * (10 + 4 * job.hives) * chance.lognormvariate(0, 0.2), 1),
        crew="ash",
        people=1,
        hives=job.hives,
        stores_kg=chance.uniform(4, 25) if job.kind == "heft" else None,
        seen=("stores-low",) if chance.random() < 0.02 else (),
        materials=used,
    )


def planned(farm: Farm, date: dt.date) -> list[Job]:
    """Return the jobs that are done on a date: by the real planner on a few dates, else simply the worst."""
    if date not in REAL_DATES:
        order = sorted(farm.jobs, key=lambda job: (job.due_by or date, job.id))
        return [job for job in order if job.not_before is None or job.not_before <= date][:MOST_JOBS_A_ROUND]
    round_ = pipeline.plan(farm.model_copy(update={"jobs": (), "warnings": ()}), date)
    chosen = {job.id for crew in round_.itineraries for stop in crew.stops for job in stop.jobs}
    left = {job.id for gone in round_.left_out for job in gone.jobs}
    assert chosen | left == {job.id for job in farm.jobs}
    return [job for job in farm.jobs if job.id in chosen]


def assert_learned(farm: Farm, record: Record) -> None:
    """Hold what the years teach to how it truly was: whole visits come out within a tenth, the defaults far off."""
    visits = [visit for visit in past_visits(farm, record) if visit.kinds == ("weekly-inspection",)]
    wiser = with_learned(farm, learn(farm, visits))
    sites = {site.id: site for site in wiser.sites}

    def reckoned(from_farm: Farm, visit: VisitRecord) -> float:
        kind = from_farm.job_kinds["weekly-inspection"]
        pace = sites[visit.site].pace if from_farm is wiser else 1.0
        return kind.minutes_a_visit.value + kind.minutes_a_hive.value * visit.hives * pace

    true = [visit.minutes for visit in visits]
    assert len(visits) > 100
    assert abs(sum(reckoned(wiser, visit) for visit in visits) / sum(true) - 1) < 0.1
    assert abs(sum(reckoned(farm, visit) for visit in visits) / sum(true) - 1) > 0.2


def test_ten_years_forget_no_job(tmp_path: Path) -> None:
    farm, log, chance = make_farm(tmp_path), Log.open(tmp_path), random.Random(6)
    written: tuple[Entry, ...] = (Entry(date=FIRST, site="ash", kind="storm"),)
    kept = 0
    waiting: dict[tuple[str, str], dt.date] = {}
    done: Counter[str] = Counter()
    latest = 0
    for number in range(YEARS * 365 // STEP.days):
        date = FIRST + STEP * number
        record = Record(entries=written)
        if date in REAL_DATES or not number % 13:
            log.add_all(written[kept:])
            kept = len(written)
        if not number % 130:
            assert log.record() == record
        asked = Asked(farm, record, date)
        opened = {
            (rule.id, site.id): found.due
            for rule in asked.season.due.values()
            for site in farm.sites
            if (found := open_due(rule, site, asked)) and found.due <= date
        }
        for key, due in waiting.items():
            # What waited last time still waits with its date, unless it was done since or its stores were told anew.
            rule, site = key
            fresh = [entry for entry in record.entries[-60:] if entry.site == site and entry.date >= date - STEP]
            answered = any(entry.kind == asked.season.due[rule].job or entry.stores_kg is not None for entry in fresh)
            assert answered or opened.get(key) == due
        due_farm = with_due_jobs(farm, record, date)
        spoken = {(job.site, job.kind) for job in due_farm.jobs}
        if not number % 4:
            items = due_items(asked)
            assert {(item.rule, item.site) for item in items if item.due <= date} == opened.keys()
            for item in items:
                if item.state in {State.OVERDUE, State.DUE}:
                    assert (item.site, item.kind) in spoken
            latest = max([latest, *(item.days_overdue for item in items if item.state is State.OVERDUE)])
        todays = planned(due_farm, date)
        done.update(job.kind for job in todays)
        entries = [logged(job, date, chance) for job in todays]
        if chance.random() < 0.03:
            entries.append(Entry(date=date, site=chance.choice(["ash", "beck"]), kind="storm"))
        written = (*written, *entries)
        waiting = opened
    for kind in ("mouse-guards", "oxalic", "strips-in", "strips-out", "supers-off", "woodpecker-netting"):
        assert done[kind] >= (YEARS - 1) * len(farm.sites), kind
    assert done["weekly-inspection"] >= YEARS * len(farm.sites) * 7
    assert latest <= 60
    log.add_all(written[kept:])
    assert_learned(farm, log.record())
