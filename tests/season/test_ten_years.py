"""Ten invented years on a farm of three sites, from due to planned to logged: no job is forgotten, at no site."""

from __future__ import annotations

import datetime as dt
import random
from collections import Counter
from pathlib import Path

import pytest

from routing.farm.models import Farm, Job
from routing.season.due import Asked, State, due_items, open_dues
from routing.season.entries import Entry, Record
from routing.season.jobs import with_due_jobs
from routing.season.learn import learn, with_learned
from routing.season.log import Log
from routing.season.past_visits import past_visits
from routing.season.records import VisitRecord
from routing.stages import due as due_stage
from routing.stages import plan as plan_stage
from tests.season.small_farm import make_farm
from tests.together import then_deep

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
    round_ = plan_stage.plan(farm.model_copy(update={"jobs": (), "warnings": ()}), date)
    chosen = {job.id for crew in round_.itineraries for stop in crew.stops for job in stop.jobs}
    left = {job.id for gone in round_.left_out for job in gone.jobs}
    assert chosen | left == {job.id for job in farm.jobs}
    return [job for job in farm.jobs if job.id in chosen]


def assert_learned(farm: Farm, record: Record, years: int) -> None:
    """Hold what the years teach to how it truly was: whole visits come out within a tenth, the defaults far off."""
    visits = [visit for visit in past_visits(farm, record) if visit.kinds == ("weekly-inspection",)]
    wiser = with_learned(farm, learn(farm, visits))
    sites = {site.id: site for site in wiser.sites}

    def reckoned(from_farm: Farm, visit: VisitRecord) -> float:
        kind = from_farm.job_kinds["weekly-inspection"]
        pace = sites[visit.site].pace if from_farm is wiser else 1.0
        return kind.minutes_a_visit.value + kind.minutes_a_hive.value * visit.hives * pace

    true = [visit.minutes for visit in visits]
    assert len(visits) > 10 * years
    assert abs(sum(reckoned(wiser, visit) for visit in visits) / sum(true) - 1) < 0.1
    assert abs(sum(reckoned(farm, visit) for visit in visits) / sum(true) - 1) > 0.2


@pytest.mark.parametrize("years", then_deep([3], [YEARS]))
def test_no_year_of_ten_forgets_a_job(tmp_path: Path, years: int) -> None:
    farm, log, chance = make_farm(tmp_path), Log.open(tmp_path), random.Random(6)
    written: tuple[Entry, ...] = (Entry(date=FIRST, site="ash", kind="storm"),)
    kept = 0
    waiting: dict[tuple[str, str], dt.date] = {}
    done: Counter[str] = Counter()
    latest = 0
    for number in range(years * 365 // STEP.days):
        date = FIRST + STEP * number
        record = Record(entries=written)
        if date in REAL_DATES or not number % 13:
            log.add_all(written[kept:])
            kept = len(written)
        if not number % 130:
            assert log.record() == record
        asked = due_stage.asked(farm, date, record)
        opened = {
            (rule.id, site.id): found[0].due
            for rule in asked.season.due.values()
            for site in farm.sites
            if (found := open_dues(rule, site, asked)) and found[0].due <= date and found[0].known
        }
        for key, due in waiting.items():
            # What waited last time still waits with its date, unless it was done since or its stores were told anew.
            rule, site = key
            fresh = [entry for entry in record.entries[-60:] if entry.site == site and entry.date >= date - STEP]
            answered = any(entry.kind == asked.season.due[rule].job or entry.stores_kg is not None for entry in fresh)
            assert answered or opened.get(key) == due
        due_farm = with_due_jobs(asked)
        spoken = {(job.site, job.kind) for job in due_farm.jobs}
        if not number % 4:
            items = due_items(asked)
            past = {(item.rule, item.site) for item in items if item.due <= date}
            assert opened.keys() <= past
            assert all(item.due < FIRST for item in items if (item.rule, item.site) in past - opened.keys())
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
        assert done[kind] >= (years - 1) * len(farm.sites), kind
    assert done["weekly-inspection"] >= years * len(farm.sites) * 7
    assert latest <= 60
    log.add_all(written[kept:])
    assert_learned(farm, log.record(), years)


ONCE = ("mouse-guards", "woodpecker-netting", "oxalic", "strips-in", "insulation")
"""Rules that ask once a season, each for a job kind of its own name."""


def test_ten_years_of_misses_hide_no_new_season_at_any_site(tmp_path: Path) -> None:
    """Each year each site misses some of its work: on the last day for it the next year it is asked for all the same.

    Only what was missed is ever told as missed.
    """
    farm, chance = make_farm(tmp_path), random.Random(11)
    written: list[Entry] = [
        Entry(date=dt.date(2026, 6, 1), site=site.id, kind=kind) for site in farm.sites for kind in ONCE
    ]
    missed: set[tuple[str, str]] = set()
    asked_for: Counter[str] = Counter()
    for year in range(2026, 2026 + YEARS):
        seasons = {}
        for kind in ONCE:
            asked = Asked(farm, Record(entries=tuple(written)), dt.date(year, 8, 20))
            seasons[kind] = {site.id: open_dues(asked.season.due[kind], site, asked)[-1] for site in farm.sites}
        for kind, by_site in sorted(seasons.items(), key=lambda pair: pair[1]["ash"].due):
            due = by_site["ash"].due
            items = due_items(Asked(farm, Record(entries=tuple(written)), due))
            now = {item.site: item for item in items if item.rule == kind and item.due == due}
            assert {site: item.state for site, item in now.items()} == dict.fromkeys(("ash", "beck", "cote"), State.DUE)
            assert all(item.hives == item.colonies for item in now.values())
            told = {item.site for item in items if item.rule == kind and item.state is State.SEASON_OVER}
            assert told == {site for site, what in missed if what == kind}
            for site in now:
                asked_for[site] += 1
                missed.discard((site, kind))
                if chance.random() < 0.3:
                    missed.add((site, kind))
                else:
                    written.append(Entry(date=due - dt.timedelta(days=2), site=site, kind=kind))
    assert asked_for == dict.fromkeys(("ash", "beck", "cote"), YEARS * len(ONCE))


def test_ten_springs_begin_whatever_was_missed_the_summer_before(tmp_path: Path) -> None:
    """Inspections end in June at one site, in July at another, and are made for years at one site alone."""
    farm = make_farm(tmp_path)
    written = [
        Entry(date=dt.date(year, month, number), site=site, kind="weekly-inspection")
        for year in range(2026, 2026 + YEARS)
        for site, months in (("ash", (4, 5, 6)), ("beck", (4, 5, 6, 7)), ("cote", (4,) if year < 2028 else ()))
        for month in months
        for number in ((25,) if month == 4 else (1, 8))
    ]
    for year in range(2027, 2026 + YEARS):
        asked = Asked(farm, Record(entries=tuple(written)), dt.date(year, 4, 20))
        due = {item.site for item in due_items(asked) if item.rule == "weekly-inspection" and item.state is State.DUE}
        assert due == {"ash", "beck", "cote"}, year
