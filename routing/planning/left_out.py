"""Every job that no crew does, with its certain reason or the cheapest insertion and what that breaks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from routing.farm.models import BASE, Job
from routing.planning.build import THOUSAND, Days, days_overdue
from routing.planning.engines.insertion import insertions
from routing.planning.load import loads, used_by
from routing.planning.moves import distance_cautions
from routing.planning.problem import NO_LIMIT, Order, Orders, served
from routing.planning.reasons import Certain
from routing.planning.timing import drives, lateness, timeline
from routing.round import Insertion, LeftOut, PlannedJob, ReasonCode, Shortfall


@dataclass(frozen=True)
class Squeeze:
    """The cheapest way to force left-out tasks into the orders: where, and what it breaks."""

    route: int
    order: Order
    insertion: Insertion
    tasks: tuple[int, ...]


def left_out_groups(
    days: Days, orders: Orders, certain: Mapping[int, Certain]
) -> list[tuple[tuple[int, ...], Certain | None]]:
    """Return the tasks left out, grouped by site and reason; tasks that no single visit can hold stand alone."""
    missing = [task for task in range(len(days.jobs)) if task not in served(orders)]
    groups: dict[tuple[str, str, str], list[int]] = {}
    for task in missing:
        reason = certain.get(task)
        groups.setdefault(
            (days.jobs[task].site, reason.code if reason else "", reason.text if reason else ""), []
        ).append(task)
    found: list[tuple[tuple[int, ...], Certain | None]] = []
    for tasks in groups.values():
        reason = certain.get(tasks[0])
        if reason is None and not any(set(tasks) <= set(visit.tasks) for visit in days.problem.visits):
            found += [((task,), None) for task in tasks]
        else:
            found.append((tuple(tasks), reason))
    return found


def certain_entry(days: Days, tasks: tuple[int, ...], reason: Certain) -> LeftOut:
    """Return the entry for tasks that could not be done even alone."""
    return _entry(days, tuple(days.jobs[task] for task in tasks), reason.code, reason.text)


def not_due_entries(days: Days) -> list[LeftOut]:
    """Return an entry for each site with jobs that may not be done yet."""
    groups: dict[str, list[Job]] = {}
    for job in days.not_due:
        groups.setdefault(job.site, []).append(job)
    entries = []
    for jobs in groups.values():
        first = min(job.not_before for job in jobs if job.not_before)
        entries.append(_entry(days, tuple(jobs), ReasonCode.NOT_DUE, f"not before {first.isoformat()}"))
    return entries


def crowded_entry(days: Days, squeeze: Squeeze) -> LeftOut:
    """Return the entry for tasks that fit alone but not beside what is planned; remedies are added later."""
    text = "would fit alone, but not beside the visits that are planned"
    entry = _entry(days, tuple(days.jobs[task] for task in squeeze.tasks), ReasonCode.NO_ROOM, text)
    return entry.model_copy(update={"insertion": squeeze.insertion})


def cheapest_squeeze(days: Days, orders: Orders, tasks: tuple[int, ...]) -> Squeeze:
    """Return the way to add the tasks that breaks the fewest things, then the least time, then costs the least."""
    problem = days.problem
    stock = _stock_short(days, orders, tasks)
    best: tuple[tuple[int, ...], Squeeze] | None = None
    for route, order in enumerate(orders):
        if not all(problem.routes[route].allowed[task] for task in tasks):
            continue
        before = _driving_and_work(days, route, order)
        for changed in insertions(problem, problem.routes[route].day, order, tasks):
            lasts = [problem.visits[planned.visit].last_of_day for planned in changed]
            late = lateness(problem, route, changed)
            if late is None or lasts != sorted(lasts):
                continue
            loaded = loads(problem, changed)
            rules = problem.routes[route]
            grams = max(0.0, max(loaded.grams_within) - rules.payload_grams)
            litres = max(0.0, max(loaded.millilitres_within) - rules.space_millilitres)
            shortfalls = [
                Shortfall(what=what, amount=amount, unit=unit)
                for what, amount, unit in (
                    ("working light", late.light, "seconds"),
                    ("opening hours", late.hours, "seconds"),
                    ("home by", late.home, "seconds"),
                    ("payload", round(grams / THOUSAND, 3), "kg"),
                    ("space", round(litres / THOUSAND, 3), "litres"),
                )
                if amount > 0
            ] + stock
            extra = _driving_and_work(days, route, changed) - before
            measure = (len(shortfalls), late.total, round(grams + litres), extra)
            if best is None or measure < best[0]:
                after = _stop_before(days, order, changed)
                insertion = Insertion(
                    crew=days.crews[route].id,
                    date=days.route_dates[route],
                    after=after,
                    extra_seconds=extra,
                    shortfalls=tuple(shortfalls),
                )
                best = (measure, Squeeze(route, changed, insertion, tasks))
    if best is None:
        raise AssertionError("a task that fits alone can always be squeezed in somewhere")
    return best[1]


def _driving_and_work(days: Days, route: int, order: Order) -> int:
    """Return the seconds an order takes: its time away where it fits, else drives and work without waits."""
    times = timeline(days.problem, route, order) if order else None
    if times is not None:
        return times.away
    way = drives(days.problem, route, order)
    work = sum(days.problem.on_site_seconds(route, planned) for planned in order)
    return (sum(way[0]) if way else 0) + work


def _stop_before(days: Days, order: Order, changed: Order) -> str:
    """Return the site (or the base) after which the changed order has its new or longer stop."""
    position = next(
        (number for number, (old, new) in enumerate(zip(order, changed, strict=False)) if old != new), len(order)
    )
    if len(changed) == len(order):
        return days.sites[days.problem.visits[changed[position].visit].place - 1].id
    return BASE if position == 0 else days.left_from(days.problem.visits[changed[position - 1].visit].place).id


def _stock_short(days: Days, orders: Orders, tasks: tuple[int, ...]) -> list[Shortfall]:
    short = []
    for supply, used in enumerate(used_by(days.problem, served(orders) | set(tasks))):
        stock = days.problem.supplies[supply].stock
        if stock != NO_LIMIT and used > stock:
            facts = days.farm.materials[days.materials[supply]]
            short.append(Shortfall(what=f"stock of {facts.name}", amount=(used - stock) / THOUSAND, unit=facts.unit))
    return short


def _entry(days: Days, jobs: tuple[Job, ...], code: ReasonCode, text: str) -> LeftOut:
    site = days.farm.site(jobs[0].site)
    return LeftOut(
        site=site.id,
        name=site.name,
        latitude=site.place.latitude,
        longitude=site.place.longitude,
        jobs=tuple(planned_job(days, job, days.dates[-1], 0) for job in jobs),
        reason=code,
        text=text,
    )


def planned_job(days: Days, job: Job, date: dt.date, work_seconds: int) -> PlannedJob:
    """Return the job as a round shows it; `work_seconds` is 0 for a job that nobody does."""
    kind = days.farm.job_kinds[job.kind]
    return PlannedJob(
        id=job.id,
        kind=kind.id,
        name=kind.name,
        hives=job.hives,
        work_seconds=work_seconds,
        rank=job.rank,
        days_overdue=days_overdue(job, date),
        note=job.note,
        cautions=(*kind.cautions, *distance_cautions(days.farm, job)),
        promised=job.promised is not None,
        to=job.to,
        to_name=days.farm.site(job.to).name if job.to else "",
    )
