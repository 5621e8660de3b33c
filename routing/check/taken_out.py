"""Taking out what does not hold: crew-days that fail go, and every job without a place in the round is left out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from routing.check.cargo import stock_suffices, taken
from routing.check.excused import REPORT, TAKEN_OUT
from routing.check.ground import Ground
from routing.check.jobs import overdue_days
from routing.check.judgement import Judgement
from routing.check.moves import distance_caution
from routing.check.proved import not_proven
from routing.farm.models import Job
from routing.round import Itinerary, LeftOut, PlannedJob, ReasonCode, Round


def without_what_fails(round_: Round, judgement: Judgement, ground: Ground) -> Round:
    """Return the round without the days that fail, their jobs and all that were lost left out, the faults told.

    A job that is both planned and left out is only planned. What is told of the entries is told as the farm has it.
    Nothing is proved of the new round, and nothing said of even days or of musts that clash.
    """
    if not round_.dates:
        return round_
    failing = {broken.day: broken.promise for broken in reversed(judgement.days)}
    failing |= dict.fromkeys(_out_of_place(round_), "every job and every day once")
    if not failing and not _stock_serves(round_.itineraries, ground):
        failing[len(round_.itineraries) - 1] = "stock is enough"
    kept = tuple(day for index, day in enumerate(round_.itineraries) if index not in failing)
    planned = {job.id for day in kept for stop in day.stops for job in stop.jobs}
    told = tuple(_entries_kept(round_, planned, ground))
    known = planned | {job.id for left in told for job in left.jobs}
    lost = tuple(_lost_entries([job for id_, job in ground.jobs.items() if id_ not in known], round_.dates, ground))
    changed = round_.model_copy(update={"itineraries": kept, "left_out": (*told, *lost)})
    if changed == round_:
        return round_
    faults = tuple(_faults(round_, failing, lost))
    proof = not_proven(round_.proof, ground)
    return changed.model_copy(update={"proof": proof, "even": None, "clash": "", "faults": (*round_.faults, *faults)})


def _out_of_place(round_: Round) -> Iterator[int]:
    """Yield each day that is none of the round's, or is there a second time, or plans a job that is planned already."""
    seen: set[str] = set()
    days: set[tuple[str, dt.date]] = set()
    for index, day in enumerate(round_.itineraries):
        ids = [job.id for stop in day.stops for job in stop.jobs]
        if day.date not in round_.dates or (day.crew, day.date) in days or seen & set(ids) or len(set(ids)) < len(ids):
            yield index
        else:
            days.add((day.crew, day.date))
            seen |= set(ids)


def _stock_serves(days: Iterable[Itinerary], ground: Ground) -> bool:
    jobs = (ground.jobs[job.id] for day in days for stop in day.stops for job in stop.jobs if job.id in ground.jobs)
    return stock_suffices(taken(jobs, ground), ground)


def _entries_kept(round_: Round, planned: set[str], ground: Ground) -> Iterator[LeftOut]:
    """Yield the entries of jobs that the farm has and nobody does, each job once."""
    seen = set(planned)
    for left in round_.left_out:
        jobs = [ground.jobs[job.id] for job in left.jobs if job.id in ground.jobs and job.id not in seen]
        jobs = [job for job in dict.fromkeys(jobs) if job.site == left.site]
        seen |= {job.id for job in jobs}
        if jobs:
            yield left.model_copy(update=_facts(jobs, round_.dates, ground))


def _lost_entries(jobs: Sequence[Job], dates: tuple[dt.date, ...], ground: Ground) -> Iterator[LeftOut]:
    for site in dict.fromkeys(job.site for job in jobs):
        here = [job for job in jobs if job.site == site]
        facts = _facts(here, dates, ground)
        yield LeftOut.model_validate({"site": site, "reason": ReasonCode.NO_ROOM, "text": TAKEN_OUT, **facts})


def _facts(jobs: Sequence[Job], dates: tuple[dt.date, ...], ground: Ground) -> dict[str, object]:
    """Return what an entry tells of its site and jobs, as the farm has them."""
    site = ground.sites[jobs[0].site]
    return {
        "name": site.name,
        "latitude": site.place.latitude,
        "longitude": site.place.longitude,
        "jobs": tuple(_left_job(job, dates[-1], ground) for job in jobs),
    }


def _left_job(job: Job, date: dt.date, ground: Ground) -> PlannedJob:
    kind = ground.kind(job)
    return PlannedJob(
        id=job.id,
        kind=job.kind,
        name=kind.name,
        hives=job.hives,
        work_seconds=0,
        rank=job.rank,
        days_overdue=overdue_days(job, date),
        note=job.note,
        cautions=(*kind.cautions, *distance_caution(job, ground)),
        to=job.to,
        to_name=ground.sites[job.to].name if job.to else "",
        promised=job.promised is not None,
    )


def _faults(round_: Round, failing: dict[int, str], lost: Sequence[LeftOut]) -> Iterator[str]:
    """Yield a line for each day that is taken out, and for each site whose jobs had no place."""
    for index, promise in sorted(failing.items()):
        day = round_.itineraries[index]
        who = f"{day.crew_name} on {day.date}"
        yield f'A fault of the program: the day of {who} did not pass the check "{promise}" and was left away. {REPORT}'
    for left in lost:
        what = f"what was planned at {left.name or left.site} did not pass the check"
        yield f"A fault of the program: {what}; its jobs are left out. {REPORT}"
    if not failing and not lost:
        yield f"A fault of the program: what is left out was told wrong, and is told anew. {REPORT}"
