"""A report in words, set against the farm it belongs to: what was done, what is left, and what does not match."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from routing.errors import Fault
from routing.farm.models import Farm, Job
from routing.share.report.done import Done
from routing.share.report.done_details import ReportedJob
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.words import count, date_words


def unknown_to(farm: Farm, done: Done, name: str) -> tuple[Fault, ...]:
    """Return a warning for each crew and job of the report that the farm folder does not hold as it is now.

    Sites that were shared under nicknames are known by their jobs.
    """
    jobs = {job.id: job for job in farm.jobs}
    found = []
    if done.crew not in {crew.id for crew in farm.crews}:
        found.append(f'crew "{plain_name(done.crew)}" is not in farm.toml')
    for site, job in (*done.done, *done.parts, *done.left):
        if job.id not in jobs:
            found.append(f"{plain_name(job.id)} at {plain_name(site)} is not in the farm folder")
    return tuple(Fault(name, 0, what, "was the folder changed since?", warning=True) for what in found)


@dataclass(frozen=True)
class DoneWords:
    """A report in words."""

    title: str
    counted: str
    sites: tuple[tuple[str, tuple[str, ...]], ...]
    """Each site's name and lines."""
    after: tuple[str, ...]
    """The order that was kept, and what moved hives ask for."""


def done_in_words(done: Done, farm: Farm) -> DoneWords:
    """Return the report in words: a line for each job with the time of its tick in the farm's zone, and each note."""
    parts = f", {len(done.parts)} in part" if done.parts else ""
    jobs = {job.id: job for job in farm.jobs}
    sites = []
    for stop in done.stops:
        if not stop.jobs and not stop.note:
            continue
        known = next((jobs[job.id].site for job in stop.jobs if job.id in jobs), stop.site)
        name = next((site.name for site in farm.sites if site.id == known), known)
        note = (f"Note: {plain_text(stop.note)}",) if stop.note else ()
        sites.append((plain_name(name), (*_lines(stop.jobs, jobs, farm), *note)))
    moved = [jobs[job.id] for _, job in done.done if job.id in jobs and jobs[job.id].to]
    return DoneWords(
        title=f"What {plain_name(done.crew)} did on {date_words(done.date)}",
        counted=f"{count(len(done.done), 'job')} done{parts}, {len(done.left)} left; round {done.round_key}",
        sites=tuple(sites),
        after=(*_kept_lines(done, farm), *(_moved(job, farm) for job in moved)),
    )


def print_done(done: Done, farm: Farm, console: Console) -> None:
    """Print the report."""
    told = done_in_words(done, farm)
    console.print(Text(told.title, style="bold"))
    console.print(Text(told.counted))
    for name, lines in told.sites:
        console.print(Text(name, style="bold"))
        for line in lines:
            console.print(Padding(Text(line), (0, 0, 0, 2)))
    for line in told.after:
        console.print(Text(line))


def _moved(job: Job, farm: Farm) -> str:
    here, there = plain_name(job.site), plain_name(job.to)
    return (
        f"{count(job.hives, 'hive')} went from {here} to {there}: change the hives of both in "
        f"{plain_text(farm.tables.sites)}."
    )


def _kept_lines(done: Done, farm: Farm) -> Iterator[str]:
    """Yield the order that was kept in the field, and what was left out of it; nothing where the plan was followed."""
    zone, names = ZoneInfo(farm.time_zone), {site.id: site.name for site in farm.sites}
    kept = [(stop.kept, plain_name(names.get(stop.site, stop.site))) for stop in done.stops if stop.kept is not None]
    order = sorted((place.place, name, place.finish) for place, name in kept if place.finish is not None)
    out = [name for place, name in kept if place.finish is None]
    if order:
        told = ", ".join(f"{name} by {finish.astimezone(zone):%H:%M}" for _, name, finish in order)
        yield f"Order kept in the field: {told}."
    if out:
        yield f"Left out in the field: {', '.join(out)}."


def _lines(reported: tuple[ReportedJob, ...], jobs: dict[str, Job], farm: Farm) -> Iterator[str]:
    zone = ZoneInfo(farm.time_zone)
    for job in reported:
        state = "left" if job.ticked is None else f"done, ticked {job.ticked.astimezone(zone):%H:%M}"
        if job.ticked is not None and job.part:
            state = f"{job.hives} of {job.of_hives} hives done, at {job.ticked.astimezone(zone):%H:%M}"
        known = jobs.get(job.id)
        words = "not in the farm folder"
        if known is not None:
            words = f"{plain_name(farm.job_kinds[known.kind].name)}, {count(known.hives, 'hive')}"
            words += "".join(f"; {amount:g} {plain_name(material)} used" for material, amount in job.used.items())
            words += f"; stores {job.stores_kg:g} kg" if job.stores_kg is not None else ""
            words += f" to {plain_name(farm.site(known.to).name)}" if known.to else ""
        yield f"{state}: {words} ({plain_name(job.id)})"
