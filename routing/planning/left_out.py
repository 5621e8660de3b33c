"""Every job that no crew does, with its certain reason or the cheapest insertion and what that breaks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from routing.farm.models import BASE, Job
from routing.planning.build import THOUSAND, Day, days_overdue
from routing.planning.engines.insertion import insertions
from routing.planning.load import loads, used_by
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
    day: Day, orders: Orders, certain: Mapping[int, Certain]
) -> list[tuple[tuple[int, ...], Certain | None]]:
    """Return the tasks left out, grouped by site and reason; tasks that no single visit can hold stand alone."""
    missing = [task for task in range(len(day.jobs)) if task not in served(orders)]
    groups: dict[tuple[str, str, str], list[int]] = {}
    for task in missing:
        reason = certain.get(task)
        groups.setdefault(
            (day.jobs[task].site, reason.code if reason else "", reason.text if reason else ""), []
        ).append(task)
    found: list[tuple[tuple[int, ...], Certain | None]] = []
    for tasks in groups.values():
        reason = certain.get(tasks[0])
        if reason is None and not any(set(tasks) <= set(visit.tasks) for visit in day.problem.visits):
            found += [((task,), None) for task in tasks]
        else:
            found.append((tuple(tasks), reason))
    return found


def certain_entry(day: Day, tasks: tuple[int, ...], reason: Certain) -> LeftOut:
    """Return the entry for tasks that could not be done even alone."""
    return _entry(day, tuple(day.jobs[task] for task in tasks), reason.code, reason.text)


def not_due_entries(day: Day) -> list[LeftOut]:
    """Return an entry for each site with jobs that may not be done yet."""
    groups: dict[str, list[Job]] = {}
    for job in day.not_due:
        groups.setdefault(job.site, []).append(job)
    entries = []
    for jobs in groups.values():
        first = min(job.not_before for job in jobs if job.not_before)
        entries.append(_entry(day, tuple(jobs), ReasonCode.NOT_DUE, f"not before {first.isoformat()}"))
    return entries


def crowded_entry(day: Day, squeeze: Squeeze) -> LeftOut:
    """Return the entry for tasks that fit alone but not beside what is planned; remedies are added later."""
    text = "would fit alone, but not beside the visits that are planned"
    entry = _entry(day, tuple(day.jobs[task] for task in squeeze.tasks), ReasonCode.NO_ROOM, text)
    return entry.model_copy(update={"insertion": squeeze.insertion})


def cheapest_squeeze(day: Day, orders: Orders, tasks: tuple[int, ...]) -> Squeeze:
    """Return the way to add the tasks that breaks the fewest things, then the least time, then costs the least."""
    problem = day.problem
    stock = _stock_short(day, orders, tasks)
    best: tuple[tuple[int, ...], Squeeze] | None = None
    for route, order in enumerate(orders):
        if not all(problem.routes[route].allowed[task] for task in tasks):
            continue
        before = _driving_and_work(day, route, order)
        for changed in insertions(problem, problem.routes[route].day, order, tasks):
            lasts = [problem.visits[planned.visit].last_of_day for planned in changed]
            late = lateness(problem, route, changed)
            if late is None or lasts != sorted(lasts):
                continue
            loaded = loads(problem, changed)
            rules = problem.routes[route]
            grams = max(0.0, max(loaded.grams) - rules.payload_grams)
            litres = max(0.0, max(loaded.millilitres) - rules.space_millilitres)
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
            extra = _driving_and_work(day, route, changed) - before
            measure = (len(shortfalls), late.total, round(grams + litres), extra)
            if best is None or measure < best[0]:
                after = _stop_before(day, order, changed)
                insertion = Insertion(
                    crew=day.crews[route].id, after=after, extra_seconds=extra, shortfalls=tuple(shortfalls)
                )
                best = (measure, Squeeze(route, changed, insertion, tasks))
    if best is None:
        raise AssertionError("a task that fits alone can always be squeezed in somewhere")
    return best[1]


def _driving_and_work(day: Day, route: int, order: Order) -> int:
    """Return the seconds an order takes: its time away where it fits, else drives and work without waits."""
    times = timeline(day.problem, route, order) if order else None
    if times is not None:
        return times.away
    way = drives(day.problem, route, order)
    work = sum(day.problem.on_site_seconds(route, planned) for planned in order)
    return (sum(way[0]) if way else 0) + work


def _stop_before(day: Day, order: Order, changed: Order) -> str:
    """Return the site (or the base) after which the changed order has its new or longer stop."""
    position = next(
        (number for number, (old, new) in enumerate(zip(order, changed, strict=False)) if old != new), len(order)
    )
    if len(changed) == len(order):
        return day.sites[day.problem.visits[changed[position].visit].place - 1].id
    return BASE if position == 0 else day.sites[day.problem.visits[changed[position - 1].visit].place - 1].id


def _stock_short(day: Day, orders: Orders, tasks: tuple[int, ...]) -> list[Shortfall]:
    short = []
    for supply, used in enumerate(used_by(day.problem, served(orders) | set(tasks))):
        stock = day.problem.supplies[supply].stock
        if stock != NO_LIMIT and used > stock:
            facts = day.farm.materials[day.materials[supply]]
            short.append(Shortfall(what=f"stock of {facts.name}", amount=(used - stock) / THOUSAND, unit=facts.unit))
    return short


def _entry(day: Day, jobs: tuple[Job, ...], code: ReasonCode, text: str) -> LeftOut:
    site = day.farm.site(jobs[0].site)
    return LeftOut(
        site=site.id,
        name=site.name,
        latitude=site.place.latitude,
        longitude=site.place.longitude,
        jobs=tuple(planned_job(day, job, 0) for job in jobs),
        reason=code,
        text=text,
    )


def planned_job(day: Day, job: Job, work_seconds: int) -> PlannedJob:
    """Return the job as a round shows it; `work_seconds` is 0 for a job that nobody does."""
    kind = day.farm.job_kinds[job.kind]
    return PlannedJob(
        id=job.id,
        kind=kind.id,
        name=kind.name,
        hives=job.hives,
        work_seconds=work_seconds,
        rank=job.rank,
        days_overdue=days_overdue(job, day.date),
        note=job.note,
        cautions=kind.cautions,
    )
