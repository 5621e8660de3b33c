"""Jobs too large for one visit, shared out by hives over several crew-days, or over the trips of one."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import product

from routing.farm.models import Farm, Job
from routing.planning.explain.reasons import certain_reasons
from routing.planning.model.build import build_days
from routing.round import ReasonCode, Round
from routing.travel.legs import Legs

TOO_LARGE = frozenset({ReasonCode.TOO_DARK, ReasonCode.TOO_FAR, ReasonCode.TOO_HEAVY, ReasonCode.CLOSED})
"""Certain reasons that fewer hives may cure."""

Cuts = Mapping[str, int]
"""By job, into how many even parts it is cut: two or more, never more than it has hives."""

MOST_APART = 2
"""So many jobs are cut each into any number of parts; more than these all into as many as each other."""

PART = re.compile(r"(?P<whole>.+) part [1-9][0-9]{0,5} of (?P<count>[1-9][0-9]{0,5})", re.DOTALL)
"""The name of a part."""


def split_jobs(farm: Farm, legs: Legs, dates: Sequence[dt.date]) -> Farm:
    """Return the farm with every job that no visit can hold cut into the fewest even parts that each fit alone.

    There are never more parts than trips in all or hives; a job that no such cut helps stays whole. Over the trips of a
    single crew-day only what is too heavy is shared out. A part is a job of its
    own, `jobs.csv:7 part 1 of 2`, with its share of the hives and a note that says so.
    """
    return cut_into(farm, needed_cuts(farm, legs, dates))


def needed_cuts(farm: Farm, legs: Legs, dates: Sequence[dt.date]) -> Cuts:
    """Return the cuts of `split_jobs`."""
    days = build_days(farm, legs, dates)
    curable = TOO_LARGE if len(days.problem.routes) > 1 else frozenset({ReasonCode.TOO_HEAVY})
    trips = sum(route.most_trips for route in days.problem.routes)
    if trips == 1:
        return {}
    large = [days.jobs[task] for task, why in certain_reasons(days).items() if why.code in curable]
    fewest = {job.id: _fewest(farm, legs, dates, job, trips) for job in large}
    return {job: count for job, count in fewest.items() if count > 1}


def finer_cuts(farm: Farm, legs: Legs, dates: Sequence[dt.date], cuts: Cuts, left_out: Sequence[str]) -> Iterator[Cuts]:
    """Yield finer cuts of whole jobs that are left out, all or in part, and that fill a vehicle: two parts, three, ...

    `cuts` are those that were planned with, `left_out` the ids of whole jobs. There are never more parts than trips in
    all or hives. A job that needs no load is not cut: more payload would not serve more of it.
    """
    days = build_days(farm, legs, dates)
    trips = sum(route.most_trips for route in days.problem.routes)
    able = {days.jobs[task].id for task in range(len(days.jobs))} - {
        days.jobs[task].id for task, why in certain_reasons(days).items() if why.code not in TOO_LARGE
    }
    heavy = [job for job in farm.jobs if job.id in left_out and job.id in able and _fills_a_vehicle(farm, job)]
    counts = {job.id: range(cuts.get(job.id, 1), min(trips, job.hives) + 1) for job in heavy}
    counts = {job: some for job, some in counts.items() if len(some) > 1}
    if len(counts) > MOST_APART:
        finest = max(some[-1] for some in counts.values())
        for count in range(2, finest + 1):
            yield {**cuts, **{job: min(max(count, some[0]), some[-1]) for job, some in counts.items() if some[-1] > 1}}
        return
    for some in sorted(product(*counts.values()), key=lambda one: (sum(one), one)):
        finer = {**cuts, **{job: count for job, count in zip(counts, some, strict=True) if count > 1}}
        if finer != cuts:
            yield finer


def cuts_in(farm: Farm, round_: Round) -> Cuts:
    """Return the cuts that a round of the farm was planned with, by the names of its jobs."""
    hives = {job.id: job.hives for job in farm.jobs}
    stops = [stop.jobs for itinerary in round_.itineraries for stop in itinerary.stops]
    cuts = {}
    for job in (job for jobs in (*stops, *(left.jobs for left in round_.left_out)) for job in jobs):
        found = None if job.id in hives else PART.fullmatch(job.id)
        if found and 1 < int(found["count"]) <= hives.get(found["whole"], 0):
            cuts[found["whole"]] = int(found["count"])
    return cuts


def cut_into(farm: Farm, cuts: Cuts) -> Farm:
    """Return the farm with these jobs cut."""
    if not cuts:
        return farm
    jobs: list[Job] = []
    for job in farm.jobs:
        count = cuts.get(job.id, 1)
        jobs += [_part(job, number, count) for number in range(count)] if count > 1 else [job]
    return farm.model_copy(update={"jobs": tuple(jobs)})


def whole_of(id_: str) -> str:
    """Return the id of the job that this one is a part of, its own where it is whole."""
    found = PART.fullmatch(id_)
    return found["whole"] if found else id_


def _fills_a_vehicle(farm: Farm, job: Job) -> bool:
    kind = farm.job_kinds[job.kind]
    return bool(job.to or kind.takes or kind.brings_back)


def _fewest(farm: Farm, legs: Legs, dates: Sequence[dt.date], job: Job, most: int) -> int:
    for count in range(2, min(most, job.hives) + 1):
        alone = build_days(farm.model_copy(update={"jobs": (_part(job, 0, count),)}), legs, dates)
        if not certain_reasons(alone):
            return count
    return 1


def _part(job: Job, number: int, count: int) -> Job:
    """Return one part; the first parts are the larger ones where the hives do not divide evenly."""
    share, over = divmod(job.hives, count)
    name = f"part {number + 1} of {count}"
    return job.model_copy(
        update={
            "id": f"{job.id} {name}",
            "hives": share + (number < over),
            "of_hives": job.hives,
            "note": f"{name}, {job.hives} hives in all" + (f"; {job.note}" if job.note else ""),
        }
    )
