"""Jobs too large for one visit, shared out by hives over several crew-days, or over the trips of one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from routing.farm.models import Farm, Job
from routing.planning.build import build_days
from routing.planning.reasons import certain_reasons
from routing.round import ReasonCode
from routing.travel.legs import Legs

TOO_LARGE = frozenset({ReasonCode.TOO_DARK, ReasonCode.TOO_FAR, ReasonCode.TOO_HEAVY, ReasonCode.CLOSED})
"""Certain reasons that fewer hives may cure."""


def split_jobs(farm: Farm, legs: Legs, dates: Sequence[dt.date]) -> Farm:
    """Return the farm with every job that no visit can hold cut into the fewest even parts that each fit alone.

    There are never more parts than trips in all or hives; a job that no such cut helps stays whole. Over the trips of a
    single crew-day only what is too heavy is shared out. A part is a job of its
    own, `jobs.csv:7 part 1 of 2`, with its share of the hives and a note that says so.
    """
    days = build_days(farm, legs, dates)
    curable = TOO_LARGE if len(days.problem.routes) > 1 else frozenset({ReasonCode.TOO_HEAVY})
    large = {days.jobs[task].id for task, why in certain_reasons(days).items() if why.code in curable}
    trips = sum(route.most_trips for route in days.problem.routes)
    if not large or trips == 1:
        return farm
    jobs: list[Job] = []
    for job in farm.jobs:
        jobs += _parts(farm, legs, dates, job, trips) if job.id in large else (job,)
    return farm.model_copy(update={"jobs": tuple(jobs)})


def _parts(farm: Farm, legs: Legs, dates: Sequence[dt.date], job: Job, most: int) -> Sequence[Job]:
    for count in range(2, min(most, job.hives) + 1):
        parts = [_part(job, number, count) for number in range(count)]
        alone = build_days(farm.model_copy(update={"jobs": (parts[0],)}), legs, dates)
        if not certain_reasons(alone):
            return parts
    return [job]


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
