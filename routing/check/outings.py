"""Outings: one crew's visits on a date, held against every promise by plain simulation."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from routing.check.cargo import carries, points, stock_suffices, taken, used_up
from routing.check.days import Call, DayPlan, can_be_done, needs_break
from routing.check.exact import exact
from routing.check.ground import Ground, Span
from routing.check.quickest import quickest
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
        return Call(job.site, seconds, spans, last_of_day=ground.sites[job.site].last_of_day)
    way = ground.leg(crew, job.site, job.to)
    if way is None:
        return Call(job.site, seconds, (), job.to)
    return Call(job.site, seconds + way.seconds + ground.set_down_seconds(job, crew), spans, job.to)


def day_plan(crew: Crew, date: dt.date, calls: Sequence[Call], ground: Ground) -> DayPlan | None:
    """Return what bounds such a day, None where there is no way between two of its places."""
    starts, ends = (BASE, *(call.end for call in calls)), (*(call.site for call in calls), BASE)
    legs = [ground.leg(crew, start, end) for start, end in zip(starts, ends, strict=True)]
    drives = tuple(leg.seconds for leg in legs if leg is not None)
    return None if len(drives) < len(legs) else _bounded(crew, date, tuple(calls), drives, ground)


def _bounded(crew: Crew, date: dt.date, calls: tuple[Call, ...], drives: tuple[int, ...], ground: Ground) -> DayPlan:
    return DayPlan(
        earliest_leave=ground.earliest_start(crew, date) + ground.loading_seconds(),
        home_by=ground.home_by(crew, date),
        calls=calls,
        drives=drives,
        break_seconds=ground.break_seconds(crew),
        break_after=exact(crew.break_after_hours) * 3600 if crew.break_minutes > 0 else None,
        out_already=ground.farm.underway is not None,
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


def fits_alone(jobs: Sequence[Job], crew: Crew, date: dt.date, ground: Ground, *, rested: bool = True) -> bool:
    """Whether a crew with nothing else to do could make the visit for these jobs on the date by the direct drives.

    Where not `rested`, without the break that so long a day may need.
    """
    if not may_do(jobs, crew, date, ground) or not stock_suffices(taken(jobs, ground), ground):
        return False
    tireless = crew if rested else crew.model_copy(update={"break_minutes": 0.0})
    return can_be_made(tireless, date, [visit_of(jobs, crew, date, ground)], ground)


def ever_possible(jobs: Sequence[Job], crew: Crew, date: dt.date, ground: Ground) -> bool:
    """Whether a crew could make the visit for these jobs on the date, whatever else it does on its way.

    It drives there and home by the quickest ways there are, with all used up before that it had on board for other
    work. Where even so the day is so long that a break is due, that costs its minutes before the visit or after it.
    """
    if not may_do(jobs, crew, date, ground) or not stock_suffices(taken(jobs, ground), ground):
        return False
    visit = visit_of(jobs, crew, date, ground)
    plan = quickest_plan(crew, date, visit.call, ground)
    if plan is None or not can_be_carried(crew, [visit], used_up(jobs, ground)):
        return False
    due, (there, back), rest = needs_break(plan), plan.drives, plan.break_seconds
    plain = replace(plan, break_after=None)
    ways = ((there + rest, back), (there, back + rest))
    return due is False or (due is True and any(can_be_done(replace(plain, drives=drives)) for drives in ways))


def quickest_plan(crew: Crew, date: dt.date, call: Call, ground: Ground) -> DayPlan | None:
    """Return what bounds a day with one call, reached and left by the quickest ways; None where there is none."""
    out, home = quickest(crew, ground)
    if call.site not in out or call.end not in home:
        return None
    return _bounded(crew, date, (call,), (out[call.site], home[call.end]), ground)
