"""Every job that no crew does, with its certain reason, or that only the rest of the plan keeps it out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace

from routing.farm.models import Job
from routing.plain_words import date_words
from routing.planning.explain.forced_insertion import ForcedInsertion
from routing.planning.explain.reasons import Certain, stops_for
from routing.planning.model.dates import days_overdue
from routing.planning.model.instance import Instance
from routing.planning.model.load import carries
from routing.planning.model.moves import distance_cautions
from routing.planning.model.problem import Orders, Problem, served
from routing.planning.model.timing import timeline
from routing.round import LeftOut, PlannedJob, ReasonCode

LONGEST_STOP = 12 * 3600
"""Seconds of work that are thought of as one stop: a longer day than that is no remedy."""


def left_out_groups(
    instance: Instance, orders: Orders, certain: Mapping[int, Certain]
) -> list[tuple[tuple[int, ...], Certain | None]]:
    """Return the tasks left out, grouped by site and reason; tasks that no single stop can hold stand alone."""
    done = served(orders)
    missing = [task for task in range(len(instance.jobs)) if task not in done]
    groups: dict[tuple[str, str, str], list[int]] = {}
    for task in missing:
        reason = certain.get(task)
        groups.setdefault(
            (instance.jobs[task].site, reason.code if reason else "", reason.text if reason else ""), []
        ).append(task)
    found: list[tuple[tuple[int, ...], Certain | None]] = []
    for tasks in groups.values():
        reason = certain.get(tasks[0])
        if reason is not None or _in_one_stop(instance, tuple(tasks)):
            found.append((tuple(tasks), reason))
        else:
            found += [((task,), None) for task in tasks]
    return found


def _in_one_stop(instance: Instance, tasks: tuple[int, ...]) -> bool:
    """Return whether some crew could carry what these tasks take and bring in a single stop, and do it in a day."""
    problem = instance.problem
    return any(
        carries(problem, route, (stop,)) and problem.on_site_seconds(route, stop) <= LONGEST_STOP
        for route, stop in stops_for(instance, tasks)
    )


def _alone_words(instance: Instance, tasks: tuple[int, ...]) -> str:
    """Say whether each of the tasks fits alone, by the times of a day that holds nothing else."""
    if all(_fits_alone(instance, instance.problem, task) for task in tasks):
        return "would fit alone, but not beside the visits that are planned"
    unrested = replace(
        instance.problem, routes=tuple(replace(route, break_seconds=0) for route in instance.problem.routes)
    )
    if all(_fits_alone(instance, unrested, task) for task in tasks):
        return "would fit alone but for the break that so long a day needs, and not beside the visits that are planned"
    return "is not ruled out by itself, but there is no room for it beside the visits that are planned"


def _fits_alone(instance: Instance, problem: Problem, task: int) -> bool:
    """Return whether some crew could do the task and nothing else."""
    return any(
        carries(problem, route, (stop,)) and timeline(problem, route, (stop,))
        for route, stop in stops_for(instance, (task,))
    )


def certain_entry(instance: Instance, tasks: tuple[int, ...], reason: Certain) -> LeftOut:
    """Return the entry for tasks that could not be done even alone."""
    return _entry(instance, tuple(instance.jobs[task] for task in tasks), reason.code, reason.text)


def not_due_entries(instance: Instance) -> list[LeftOut]:
    """Return an entry for each site with jobs that may not be done yet."""
    groups: dict[str, list[Job]] = {}
    for job in instance.not_due:
        groups.setdefault(job.site, []).append(job)
    entries = []
    for jobs in groups.values():
        first = min(job.not_before for job in jobs if job.not_before)
        entries.append(_entry(instance, tuple(jobs), ReasonCode.NOT_DUE, f"not before {date_words(first)}"))
    return entries


def crowded_entry(instance: Instance, tasks: tuple[int, ...], forced: ForcedInsertion | None) -> LeftOut:
    """Return the entry for tasks that nothing keeps out for certain but the rest of the plan; remedies come later.

    Without a forced insertion there is no insertion to tell of.
    """
    entry = _entry(
        instance, tuple(instance.jobs[task] for task in tasks), ReasonCode.NO_ROOM, _alone_words(instance, tasks)
    )
    if forced is None:
        return entry.model_copy(update={"text": f"{entry.text}; no place among them was found that could be driven"})
    return entry.model_copy(update={"insertion": forced.insertion})


def _entry(instance: Instance, jobs: tuple[Job, ...], code: ReasonCode, text: str) -> LeftOut:
    site = instance.farm.site(jobs[0].site)
    return LeftOut(
        site=site.id,
        name=site.name,
        latitude=site.place.latitude,
        longitude=site.place.longitude,
        jobs=tuple(planned_job(instance, job, instance.dates[-1], 0) for job in jobs),
        reason=code,
        text=text,
    )


def planned_job(instance: Instance, job: Job, date: dt.date, work_seconds: int) -> PlannedJob:
    """Return the job as a round shows it; `work_seconds` is 0 for a job that nobody does."""
    kind = instance.farm.job_kinds[job.kind]
    return PlannedJob(
        id=job.id,
        kind=kind.id,
        name=kind.name,
        hives=job.hives,
        work_seconds=work_seconds,
        rank=job.rank,
        days_overdue=days_overdue(job, date),
        note=job.note,
        cautions=(*kind.cautions, *distance_cautions(instance.farm, job)),
        promised=job.promised is not None,
        to=job.to,
        to_name=instance.farm.site(job.to).name if job.to else "",
    )
