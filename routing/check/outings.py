"""Outings: one crew's visits on a date, held against every promise by plain simulation."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from routing.check.cargo import carries, points, stock_suffices, taken
from routing.check.days import Call, DayPlan, best_departure, can_be_done
from routing.check.exact import exact
from routing.check.ground import Ground, Span
from routing.farm.models import BASE, Crew, Job, Site


@dataclass(frozen=True)
class Visit:
    """Some jobs of one site in one stop of one crew on one date, or a move of hives to another site.

    Coming back to base to load again is one too, without a site.
    """

    site: Site | None
    jobs: tuple[Job, ...]
    call: Call


def visit_of(jobs: Sequence[Job], crew: Crew, date: dt.date, ground: Ground) -> Visit:
    """Return the visit for jobs of one site, at least one."""
    call = call_of(jobs, crew, ground.visit_spans(jobs, date), ground)
    return Visit(ground.sites[jobs[0].site], tuple(jobs), call)


def back_at_base(crew: Crew, date: dt.date, ground: Ground) -> Visit:
    """Return the visit of base to load again, at any time of the crew's day."""
    return Visit(None, (), loading_call(crew, date, ground))


def loading_call(crew: Crew, date: dt.date, ground: Ground) -> Call:
    """Return the call at base to load again."""
    seconds = ground.loading_seconds()
    return Call(BASE, seconds, ((ground.earliest_start(crew, date) + seconds, ground.home_by(crew, date)),))


def call_of(jobs: Sequence[Job], crew: Crew, spans: tuple[Span, ...], ground: Ground) -> Call:
    """Return the call for jobs of one site, or for a move from end to end, without a window where there is no way."""
    job = jobs[0]
    seconds = ground.on_site_seconds(jobs, crew)
    if not job.to:
        return Call(job.site, seconds, spans)
    way = ground.leg(crew, job.site, job.to)
    if way is None:
        return Call(job.site, seconds, (), job.to)
    return Call(job.site, seconds + way.seconds + ground.set_down_seconds(job, crew), spans, job.to)


def day_plan(crew: Crew, date: dt.date, calls: Sequence[Call], ground: Ground) -> DayPlan | None:
    """Return what bounds such a day, None where there is no way between two of its places."""
    starts, ends = (BASE, *(call.end for call in calls)), (*(call.site for call in calls), BASE)
    legs = [ground.leg(crew, start, end) for start, end in zip(starts, ends, strict=True)]
    drives = tuple(leg.seconds for leg in legs if leg is not None)
    if len(drives) < len(legs):
        return None
    return DayPlan(
        earliest_leave=ground.earliest_start(crew, date) + ground.loading_seconds(),
        home_by=ground.home_by(crew, date),
        calls=tuple(calls),
        drives=drives,
        break_seconds=ground.break_seconds(crew),
        break_after=exact(crew.break_after_hours) * 3600 if crew.break_minutes > 0 else None,
    )


def may_do(jobs: Sequence[Job], crew: Crew, date: dt.date, ground: Ground) -> bool:
    """Whether the crew works on the date, has the people and the vehicle, and the jobs are due."""
    return (
        ground.works_on(crew, date)
        and all(may_be_on(job, date) for job in jobs)
        and has_people(jobs, crew, ground)
        and reaches_all(jobs, crew, ground)
    )


def may_be_on(job: Job, date: dt.date) -> bool:
    """Whether the date is not too soon for the job, and is the one that was promised where one was."""
    return (job.not_before is None or job.not_before <= date) and (job.promised is None or job.promised == date)


def has_people(jobs: Sequence[Job], crew: Crew, ground: Ground) -> bool:
    """Whether the crew has the people that each job needs."""
    return all(ground.kind(job).people <= crew.people for job in jobs)


def reaches(site: Site, crew: Crew, ground: Ground) -> bool:
    """Whether the crew's vehicle can get to the site."""
    return not site.vehicle_needed or site.vehicle_needed in ground.vehicle(crew).reaches


def reaches_all(jobs: Sequence[Job], crew: Crew, ground: Ground) -> bool:
    """Whether the crew's vehicle can get to each site of the jobs."""
    return all(reaches(site, crew, ground) for job in jobs for site in ground.ends(job))


def can_be_made(crew: Crew, date: dt.date, visits: Sequence[Visit], ground: Ground) -> bool:
    """Whether the visits in this order keep the promises on order, time and load."""
    marks = [visit.site is not None and visit.site.last_of_day for visit in visits]
    if marks != sorted(marks):
        return False
    plan = day_plan(crew, date, [visit.call for visit in visits], ground)
    return plan is not None and can_be_done(plan) and can_be_carried(crew, visits, ground)


def can_be_carried(crew: Crew, visits: Sequence[Visit], ground: Ground) -> bool:
    """Whether the crew's vehicle may carry the load of these visits in this order."""
    trips: list[list[tuple[Job, ...]]] = [[]]
    for visit in visits:
        if visit.site is None:
            trips.append([])
        else:
            trips[-1].append(visit.jobs)
    return all(carries(ground.vehicle(crew), trip) for trip in points(trips, ground))


def fits_alone(jobs: Sequence[Job], crew: Crew, date: dt.date, ground: Ground) -> bool:
    """Whether a crew with nothing else to do could make the visit for these jobs on the date.

    Where that alone makes a day so long that a break is due, the break need not be at the visit: on a fuller day
    another stop may hold it, before or after.
    """
    if not may_do(jobs, crew, date, ground) or not stock_suffices(taken(jobs, ground), ground):
        return False
    visit = visit_of(jobs, crew, date, ground)
    plan = day_plan(crew, date, [visit.call], ground)
    if plan is None or not can_be_carried(crew, [visit], ground):
        return False
    plain = replace(plan, break_after=None)
    best = best_departure(plain, None)
    if best is None or plan.break_after is None or best.home - best.leave <= plan.break_after:
        return best is not None
    rest = plan.break_seconds
    moved = (replace(plain, earliest_leave=plan.earliest_leave + rest), replace(plain, home_by=plan.home_by - rest))
    return any(can_be_done(one) for one in moved)
