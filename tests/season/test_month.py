"""Simulated months of plan, do, log and plan again: nothing twice, nothing overdue hidden, and the orders last."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import pytest

from routing.farm.models import Farm, Job, Rank
from routing.season.due import TO_PLAN, due_items
from routing.season.entries import Entry, Record
from routing.season.feed import air_of
from routing.season.jobs import with_due_jobs
from routing.season.keep_apart import kept_apart
from routing.season.shopping import shopping_list
from routing.stages import due as due_stage
from tests.season.small_farm import day, done, make_farm

DAYS = 28
A_DAY = 5
"""So many jobs are done each day, the worst first: what is left must come again."""
ORDER_WEEKS, ORDER_DAYS = 2, 14
JOBS = "site,kind,hives,rank,due_by\nash,fondant,4,must,\nbeck,unite,2,want,\nash,mouse-guards,3,want,2026-10-20\n"
STOCK = "[stock]\n" + "".join(f"{name} = 0\n" for name in ("fondant", "syrup", "mouse-guard", "entrance-block"))
SOONEST = 5
"""No work is asked for again within so many days; inspections are, in passing, after five."""
FEEDS = {"fondant": 1.0, "syrup": 0.8}


class Month:
    """A farmer who does the worst jobs of each day, writes them down, and orders every fortnight."""

    def __init__(self, farm: Farm, first: dt.date) -> None:
        self.farm, self.first, self.air = farm, first, air_of(farm)
        self.entries: tuple[Entry, ...] = (done("cote", "unite", str(first - dt.timedelta(days=40))),)
        self.kg = {site.id: 12.0 + 3 * number for number, site in enumerate(farm.sites)}
        self.stock: dict[str, float] = defaultdict(float)
        self.short: list[str] = []
        self.hidden: list[str] = []
        self.twice: list[str] = []
        self.done: dict[tuple[str, str], list[tuple[dt.date, int]]] = defaultdict(list)

    def live(self) -> None:
        for number in range(DAYS):
            date = self.first + dt.timedelta(days=number)
            asked = due_stage.asked(self.farm, date, Record(entries=self.entries))
            if not number % ORDER_DAYS:
                stocked = asked.farm.model_copy(update={"stock": dict(self.stock)})
                for line in shopping_list(replace(asked, farm=stocked), ORDER_WEEKS):
                    self.stock[line.material] += line.needed - min(line.needed, self.stock[line.material])
            due = kept_apart(with_due_jobs(asked), asked.record, date)
            told = " ".join(str(one) for one in due.warnings)
            there = {(job.site, job.kind) for job in due.jobs}
            for item in due_items(asked):
                if item.state in TO_PLAN and (item.site, item.kind) not in there:
                    spoken = item.waits and f"{item.kind_name} at {item.site_name} may not be beside" in told
                    self.hidden += [] if spoken else [f"{date} {item.rule} {item.site}"]
                if item.waits and (item.site, item.kind) in there:
                    self.hidden.append(f"{date} {item.rule} {item.site} waits and is planned")
            doable = [job for job in due.jobs if self._can(job, date)]
            for job in sorted(doable, key=lambda job: (job.due_by or date, job.id))[:A_DAY]:
                self._do(job, date)
            for site in self.kg:
                self.kg[site] -= self.air.use_kg(date)

    def _can(self, job: Job, date: dt.date) -> bool:
        """Return whether a job is open; what is done in passing waits until there is stock for it."""
        there = all(self.stock[name] >= amount - 1e-6 for name, amount in self._takes(job).items())
        return (job.not_before is None or job.not_before <= date) and (there or job.rank is not Rank.PASSING)

    def _takes(self, job: Job) -> dict[str, float]:
        takes = self.farm.job_kinds[job.kind].takes
        return {use.material: use.a_hive.value * job.hives * job.helpings for use in takes}

    def _do(self, job: Job, date: dt.date) -> None:
        used = self._takes(job)
        for name, amount in used.items():
            if amount > self.stock[name] + 1e-6:
                self.short.append(f"{date} {name} {amount:g} of {self.stock[name]:g}")
            self.stock[name] -= amount
        hives, colonies = job.hives, self.farm.site(job.site).colonies
        self.kg[job.site] += sum(FEEDS.get(name, 0.0) * amount for name, amount in used.items()) / colonies
        week = [hives for when, hives in self.done[job.site, job.kind] if (date - when).days < SOONEST]
        if sum(week) + hives > colonies:
            self.twice.append(f"{date} {job.kind} {job.site} {hives} after {week}")
        self.done[job.site, job.kind].append((date, hives))
        stores = self.kg[job.site] if job.kind == "heft" else None
        used = {name: amount for name, amount in used.items() if amount}
        entry = done(job.site, job.kind, str(date), hives=hives, stores_kg=stores, materials=used)
        self.entries = (*self.entries, entry)


@pytest.mark.parametrize("first", ["2026-08-10", "2026-09-20", "2026-12-28", "2027-02-20", "2027-04-25"])
def test_a_month_of_work_does_nothing_twice_hides_nothing_and_runs_short_of_nothing(tmp_path: Path, first: str) -> None:
    """Some due work waits each day, rows of jobs.csv are part of it, supers and strips are in each other's way."""
    month = Month(make_farm(tmp_path, STOCK, jobs=JOBS), day(first))
    month.live()
    assert sum(len(times) for times in month.done.values()) > 10
    assert (month.hidden, month.twice, month.short) == ([], [], [])
