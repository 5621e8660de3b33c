"""Jobs too large for one visit, shared out by hives over several crew-days, or over the trips of one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product

from routing.farm.models import Farm, Job
from routing.farm.parts import Part, part_of
from routing.planning.explain.reasons import certain_reasons
from routing.planning.model.build_instance import build_instance
from routing.planning.model.instance import Instance
from routing.round import ReasonCode, Round

TOO_LARGE = frozenset({ReasonCode.TOO_DARK, ReasonCode.TOO_FAR, ReasonCode.TOO_HEAVY, ReasonCode.CLOSED})
"""Certain reasons that fewer hives may cure."""

Cuts = Mapping[str, int]
"""By job, into how many even parts it is cut: two or more, never more than it has hives."""

MOST_APART = 2
"""So many jobs are cut each into any number of parts; more than these all into as many as each other."""


def needed_cuts(whole: Instance) -> Cuts:
    """Return the cuts by which every job that no visit can hold becomes the fewest even parts that each fit alone.

    `whole` is the instance in which all jobs are whole. There are never more parts than trips in all or hives; a job
    that no such cut helps stays whole. Over the trips of a single crew-day only what is too heavy is shared out. A part
    is a job of its own, `jobs.csv:7 part 1 of 2`, with its share of the hives and a note that says so.
    """
    curable = TOO_LARGE if len(whole.problem.routes) > 1 else frozenset({ReasonCode.TOO_HEAVY})
    trips = _trips(whole)
    if trips == 1:
        return {}
    large = [whole.jobs[task] for task, why in certain_reasons(whole).items() if why.code in curable]
    fewest = {job.id: _fewest(whole, job, trips) for job in large}
    return {job: count for job, count in fewest.items() if count > 1}


def finer_cuts(whole: Instance, cuts: Cuts, left_out: Sequence[str]) -> Iterator[Cuts]:
    """Yield finer cuts of whole jobs that are left out, all or in part, and that fill a vehicle: two parts, three, ...

    `cuts` are those that were planned with, `left_out` the ids of whole jobs. There are never more parts than trips in
    all or hives. A job that needs no load is not cut: more payload would not serve more of it.
    """
    trips = _trips(whole)
    never = {whole.jobs[task].id for task, why in certain_reasons(whole).items() if why.code not in TOO_LARGE}
    heavy = [job for job in whole.jobs if job.id in left_out and job.id not in never and _fills_a_vehicle(whole, job)]
    counts = {job.id: range(cuts.get(job.id, 1), min(trips, job.hives) + 1) for job in heavy}
    counts = {job: some for job, some in counts.items() if len(some) > 1}
    if len(counts) > MOST_APART:
        finest = max(some[-1] for some in counts.values())
        ways = [tuple(min(max(count, some[0]), some[-1]) for some in counts.values()) for count in range(2, finest + 1)]
    else:
        ways = sorted(product(*counts.values()), key=lambda one: (sum(one), one))
    for way in ways:
        finer = {**cuts, **{job: count for job, count in zip(counts, way, strict=True) if count > 1}}
        if finer != cuts:
            yield finer


def cuts_in(farm: Farm, round_: Round) -> Cuts:
    """Return the cuts that a round of the farm was planned with, by the names of its jobs."""
    hives = {job.id: job.hives for job in farm.jobs}
    stops = [stop.jobs for itinerary in round_.itineraries for stop in itinerary.stops]
    cuts = {}
    for job in (job for jobs in (*stops, *(left.jobs for left in round_.left_out)) for job in jobs):
        part = part_of(job.id)
        if job.id not in hives and 1 < part.count <= hives.get(part.whole, 0):
            cuts[part.whole] = part.count
    return cuts


def cut_into(farm: Farm, cuts: Cuts) -> Farm:
    """Return the farm with these jobs cut."""
    if not cuts:
        return farm
    jobs: list[Job] = []
    for job in farm.jobs:
        count = cuts.get(job.id, 1)
        jobs += [_part(job, Part(job.id, number + 1, count)) for number in range(count)] if count > 1 else [job]
    return farm.model_copy(update={"jobs": tuple(jobs)})


def cut_instance(whole: Instance, cuts: Cuts) -> Instance:
    """Return the same days with these jobs cut."""
    return build_instance(cut_into(whole.farm, cuts), whole.legs, whole.dates) if cuts else whole


def _trips(instance: Instance) -> int:
    return sum(route.most_trips for route in instance.problem.routes)


def _fills_a_vehicle(instance: Instance, job: Job) -> bool:
    kind = instance.farm.job_kinds[job.kind]
    return bool(job.to or kind.takes or kind.brings_back)


def _fewest(whole: Instance, job: Job, most: int) -> int:
    for count in range(2, min(most, job.hives) + 1):
        alone = whole.farm.model_copy(update={"jobs": (_part(job, Part(job.id, 1, count)),)})
        if not certain_reasons(build_instance(alone, whole.legs, whole.dates)):
            return count
    return 1


def _part(job: Job, part: Part) -> Job:
    note = f"{part.words}, {job.hives} hives in all" + (f"; {job.note}" if job.note else "")
    hives = part.hives_of(job.hives)
    return job.model_copy(update={"id": part.id, "hives": hives, "of_hives": job.hives, "note": note})
