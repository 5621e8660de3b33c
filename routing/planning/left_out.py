"""Every job that no crew does, with its certain reason or the cheapest insertion and what that breaks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace

from routing.farm.models import BASE, Job
from routing.planning.build import THOUSAND, Days, days_overdue
from routing.planning.engines.insertion import insertions
from routing.planning.load import carries, overload
from routing.planning.moves import distance_cautions
from routing.planning.problem import NO_LIMIT, Order, Orders, Problem, served, used_by
from routing.planning.reasons import Certain, stops_for
from routing.planning.timing import Lateness, lateness, seconds_without_waits, timeline
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
    """Return the tasks left out, grouped by site and reason; tasks that no single stop can hold stand alone."""
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
        if reason is not None or _in_one_stop(days, tuple(tasks)):
            found.append((tuple(tasks), reason))
        else:
            found += [((task,), None) for task in tasks]
    return found


def _in_one_stop(days: Days, tasks: tuple[int, ...]) -> bool:
    """Return whether some crew could carry what these tasks take and bring in a single stop."""
    return any(carries(days.problem, route, (stop,)) for route, stop in stops_for(days, tasks))


def _in_one_day(days: Days, task: int) -> bool:
    """Return whether some crew could do the task and nothing else, its break included."""
    return any(timeline(days.problem, route, (stop,)) for route, stop in stops_for(days, (task,)))


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
    if not all(_in_one_day(days, task) for task in squeeze.tasks):
        text = "would fit alone but for the break that so long a day needs, and not beside the visits that are planned"
    entry = _entry(days, tuple(days.jobs[task] for task in squeeze.tasks), ReasonCode.NO_ROOM, text)
    return entry.model_copy(update={"insertion": squeeze.insertion})


def cheapest_squeeze(days: Days, orders: Orders, tasks: tuple[int, ...]) -> Squeeze:
    """Return the way to add the tasks that breaks the fewest things, then the least time, then costs the least.

    Where a crew may come back to base to load again, the day without that is looked at too: what it lacks is payload.
    """
    problem = days.problem
    stock = _stock_short(days, orders, tasks)
    ways = [problem]
    if any(problem.returns):
        ways.append(replace(problem, routes=tuple(replace(route, most_trips=1) for route in problem.routes)))
    best: tuple[tuple[int, ...], Squeeze] | None = None
    for route, order in enumerate(orders):
        if not all(problem.routes[route].allowed[task] for task in tasks):
            continue
        looks = [(way, _taken(way, route, order)) for way in (ways if problem.returns[route] else ways[:1])]
        for changed in insertions(problem, problem.routes[route].day, order, tasks):
            lasts = [problem.visits[planned.visit].last_of_day for planned in changed]
            if lasts != sorted(lasts):
                continue
            for way, before in looks:
                late = lateness(way, route, changed)
                if late is None:
                    continue
                shortfalls, over = _shortfalls(way, route, changed, late)
                extra = _extra_seconds(way, route, before, changed)
                measure = (len(shortfalls) + len(stock), late.total, over, extra)
                if best is None or measure < best[0]:
                    insertion = Insertion(
                        crew=days.crews[route].id,
                        date=days.route_dates[route],
                        after=_stop_before(days, order, changed),
                        extra_seconds=extra,
                        shortfalls=(*shortfalls, *stock),
                    )
                    best = (measure, Squeeze(route, changed, insertion, tasks))
    if best is None:
        raise AssertionError("a task that fits alone can always be squeezed in somewhere")
    return best[1]


def _shortfalls(problem: Problem, route: int, order: Order, late: Lateness) -> tuple[list[Shortfall], int]:
    """Return what an order breaks, and how much it is over payload and space together, in grams and millilitres."""
    grams, millilitres = overload(problem, route, order)
    amounts = (
        ("working light", late.light, "seconds"),
        ("opening hours", late.hours, "seconds"),
        ("home by", late.home, "seconds"),
        ("payload", round(grams / THOUSAND, 3), "kg"),
        ("space", round(millilitres / THOUSAND, 3), "litres"),
    )
    found = [Shortfall(what=what, amount=amount, unit=unit) for what, amount, unit in amounts if amount > 0]
    return found, round(grams + millilitres)


@dataclass(frozen=True)
class _Taken:
    """What a route's order takes before it is changed."""

    away: int
    plain: int
    """Drives and work alone."""


def _taken(problem: Problem, route: int, order: Order) -> _Taken:
    times = timeline(problem, route, order) if order else None
    return _Taken(times.away if times else 0, (seconds_without_waits(problem, route, order) or 0) if order else 0)


def _extra_seconds(problem: Problem, route: int, before: _Taken, changed: Order) -> int:
    """Return how much longer the changed order takes: in time away where it fits, else in drives and work alone."""
    after = timeline(problem, route, changed)
    if after is not None and carries(problem, route, changed):
        return max(0, after.away - before.away)
    return max(0, (seconds_without_waits(problem, route, changed) or 0) - before.plain)


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
