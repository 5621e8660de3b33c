"""Where the log meets the rest: reports into it, past visits and the season's page out of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from routing import pipeline
from routing.errors import AskedError
from routing.farm.models import Farm, Job
from routing.farm.values import LONGEST_NOTE
from routing.farm.year_words import EVENTS
from routing.season.asked import Asked
from routing.season.due import DueItem, due_items
from routing.season.due import State as DueState
from routing.season.entries import Entry, Record
from routing.season.feed import carried_forward, last_reading
from routing.season.jobs import with_due_jobs
from routing.season.levels import level_on, levels
from routing.season.log import Log
from routing.season.records import MOST_MINUTES, VisitRecord
from routing.season.rows import MOVED
from routing.share.done import Done
from routing.share.done_details import ReportedJob
from routing.share.season import Entry as Shown
from routing.share.season import FeedRow, MinutesRow, Season, State

WEEKS = 8
"""The season's page shows so many weeks before and after its date."""

STANDING = {
    DueState.OVERDUE: State.OVERDUE,
    DueState.SEASON_OVER: State.OVERDUE,
    DueState.UNKNOWN: State.UNKNOWN,
    DueState.DUE: State.DUE,
    DueState.COMING: State.DUE,
}


def as_reported(farm: Farm, report: Done) -> Farm:
    """Return the farm with the jobs that a report names as its jobs, done or not; what it does not know is not there.

    The rows of jobs.csv are taken as they stand in the folder, the due dates by their rules. A row that is of another
    kind or at another site than the report says is not the one that was meant: the file was changed since.
    """
    rows = {job.id: job for job in farm.jobs}
    helpings = _helpings(farm, report)
    found = (_reported(farm, rows, stop.site, job) for stop in report.stops for job in stop.jobs)
    known = (job.model_copy(update={"helpings": helpings.get(_whole(job.id), 1)}) for job in found if job is not None)
    return farm.model_copy(update={"jobs": tuple(known)})


def _helpings(farm: Farm, report: Done) -> dict[str, int]:
    """Return how large the feeds were that were planned for the report's day, by job: as the log was before it."""
    if farm.jobs and not has_log(farm.folder):
        return {}  # planned as they stand
    record = Log.record_of(farm.folder)
    before = tuple(entry for entry in record.entries if entry.date < report.date)
    planned = with_due_jobs(pipeline.asked(farm, report.date, record.model_copy(update={"entries": before})))
    return {job.id: job.helpings for job in planned.jobs}


def _whole(id_: str) -> str:
    return id_.partition(" part ")[0]


def _reported(farm: Farm, rows: Mapping[str, Job], site: str, told: ReportedJob) -> Job | None:
    whole, _, part = told.id.partition(" part ")
    job = rows.get(whole) or _by_rule(farm, whole, told.kind)
    sites = {place.id for place in farm.sites}
    elsewhere = site in sites and job is not None and not job.to and site != job.site
    if job is None or (told.kind and (job.kind != told.kind or elsewhere)):
        return None
    hives = told.of_hives or _share(job.hives, part)
    return job.model_copy(update={"id": told.id, "hives": max(1, hives)})


def _by_rule(farm: Farm, id_: str, kind: str) -> Job | None:
    """Return the job of an id such as `due:weekly-inspection:orchard`, None where the farm has no such rule or site."""
    word, _, rest = id_.partition(":")
    rule, _, site = rest.partition(":")
    rules = farm.season.due if farm.season is not None else {}
    done = kind or (rules[rule].job if rule in rules else "")
    if word != "due" or done not in farm.job_kinds or site not in {place.id for place in farm.sites}:
        return None
    return Job(id=id_, site=site, kind=done, hives=max(1, farm.site(site).colonies))


def _share(hives: int, part: str) -> int:
    """Return the hives of a part named `2 of 3`, as a job is shared out: the first parts are the larger ones."""
    number, _, of = part.partition(" of ")
    if not (number.isdecimal() and of.isdecimal() and 0 < int(number) <= int(of)):
        return hives
    share, over = divmod(hives, int(of))
    return share + (int(number) <= over)


def entries_of(farm: Farm, report: Done) -> tuple[Entry, ...]:
    """Return a log entry for each job that a helper ticked off or did in part; what was left to do makes none.

    What a job takes counts as used: what was loaded for so many hives, or the amount that the report says. The
    reference is the round and the job, so that a report which comes twice is kept once. Raises AskedError for a job
    that the farm does not have.
    """
    jobs = {job.id: job for job in as_reported(farm, report).jobs}
    found = []
    for stop in report.stops:
        for told in stop.jobs:
            if told.ticked is None:
                continue
            if told.id not in jobs:
                raise AskedError(
                    f'the report names job "{told.id}", which the farm does not have (any more); log it by hand'
                )
            found.append(_entry(farm, report, jobs[told.id], told, stop.note))
    return tuple(found)


def _entry(farm: Farm, report: Done, job: Job, told: ReportedJob, note: str) -> Entry:
    hives = job.hives if told.hives is None else told.hives
    unknown = [material for material in told.used if material not in farm.materials]
    if unknown:
        raise AskedError(f'the report names material "{unknown[0]}", which the farm does not have; log it by hand')
    takes = farm.job_kinds[job.kind].takes
    used = {use.material: round(use.a_hive.value * hives * job.helpings, 3) for use in takes}
    return Entry(
        reference=f"{report.round_key} {told.id}"[-60:],
        date=report.date,
        site=job.site,
        kind=job.kind,
        crew=report.crew,
        hives=hives,
        partly=told.part,
        stores_kg=told.stores_kg,
        materials={material: amount for material, amount in {**used, **told.used}.items() if amount > 0},
        note=f"{MOVED}{job.to}. {note}"[:LONGEST_NOTE].strip() if job.to else note,
    )


def log_report(farm: Farm, report: Done) -> int:
    """Write what a report says is done into the log and return how many entries were new.

    A log that is begun by it counts from the report's day.
    """
    entries = entries_of(farm, report)
    begins = not has_log(farm.folder)
    log = Log.open(farm.folder)
    if begins:
        log.begin(report.date)
    return log.add_all(entries)


def closes_nothing(farm: Farm, report: Done) -> tuple[str, ...]:
    """Return a line for each job of a report that closes nothing although it was ticked: a heft without kilograms."""
    rules = farm.season.due.values() if farm.season is not None else ()
    weighed = {rule.job for rule in rules if rule.needs_stores_kg}
    return tuple(
        f"{farm.job_kinds[entry.kind].name} at {farm.site(entry.site).name} has no kilograms, so it stays due: "
        f"outyard log add FOLDER --site {entry.site} --kind {entry.kind} --on {entry.date} --stores-kg KG"
        for entry in entries_of(farm, report)
        if entry.kind in weighed and entry.stores_kg is None
    )


def past_visits(farm: Farm, record: Record) -> tuple[VisitRecord, ...]:
    """Return the visits of the log whose minutes are known, to learn from.

    Entries of one site, date and crew are one visit, and their minutes add up. A visit with a job that was only begun
    or has no minutes teaches nothing; an event takes none.
    """
    visits: dict[tuple[str, dt.date, str], list[Entry]] = {}
    for entry in record.entries:
        visits.setdefault((entry.site, entry.date, entry.crew), []).append(entry)
    sites = {site.id: site for site in farm.sites}
    found = []
    for (site, date, crew), entries in visits.items():
        worked = [entry for entry in entries if entry.kind not in EVENTS]
        known = site in sites and all(entry.kind in farm.job_kinds for entry in worked)
        if not worked or not known or any(entry.partly or not entry.minutes for entry in worked):
            continue
        hives: dict[str, int] = {}
        for entry in worked:
            done = sites[site].colonies if entry.hives is None else entry.hives
            hives[entry.kind] = hives.get(entry.kind, 0) + done
        found.append(
            VisitRecord(
                site=site,
                kinds=tuple(hives),
                crew=crew,
                people=max((entry.people for entry in worked if entry.people), default=1),
                date=date,
                hives=max(hives.values()),
                hives_of=hives,
                minutes=min(MOST_MINUTES, sum(entry.minutes or 0 for entry in worked)),
            )
        )
    return tuple(found)


def season_of(farm: Farm, date: dt.date, learned: Farm) -> Season:
    """Return the rows of the season's page around a date; `learned` is the farm with what its record teaches."""
    asked = pipeline.asked(farm, date)
    record = asked.record
    first, last = date - dt.timedelta(weeks=WEEKS), date + dt.timedelta(weeks=WEEKS)
    items = due_items(asked) if farm.season is not None else ()
    entries = [
        *_done(farm, record),
        *(Shown(item.site_name, item.kind_name, _shown_on(item, first), STANDING[item.state]) for item in items),
    ]
    return Season(
        farm=farm.name,
        today=date,
        first=first,
        last=last,
        sites=tuple(site.name for site in farm.sites),
        entries=tuple(entry for entry in entries if first <= entry.date <= last),
        minutes=tuple(_minutes(farm, learned, past_visits(farm, record))),
        feed=tuple(_feed(asked, last)) if farm.season is not None else (),
    )


def _shown_on(item: DueItem, first: dt.date) -> dt.date:
    """Return the day of a due date, or the first of the page where it is longer overdue than the page goes back."""
    return max(item.due, first)


def _done(farm: Farm, record: Record) -> Iterator[Shown]:
    names = {site.id: site.name for site in farm.sites}
    kinds = {kind.id: kind.name for kind in farm.job_kinds.values()}
    for entry in record.entries:
        if not entry.partly:
            yield Shown(names.get(entry.site, entry.site), kinds.get(entry.kind, entry.kind), entry.date, State.DONE)
    rules = farm.season.due if farm.season is not None else {}
    for gone in record.cancellations:
        kind = rules[gone.rule].job if gone.rule in rules else gone.rule
        yield Shown(names.get(gone.site, gone.site), kinds.get(kind, kind), gone.date, State.CANCELLED)


def _minutes(farm: Farm, learned: Farm, visits: Iterable[VisitRecord]) -> Iterator[MinutesRow]:
    """Yield for each kind done by itself its minutes a hive: as written, as learned, and each visit's."""
    by_kind: dict[str, list[tuple[dt.date, float]]] = {}
    for visit in visits:
        if len(visit.kinds) == 1 and visit.hives:
            set_up = farm.job_kinds[visit.kinds[0]].minutes_a_visit.value
            a_hive = max(0.0, visit.minutes - set_up) / visit.hives
            by_kind.setdefault(visit.kinds[0], []).append((visit.date, a_hive))
    for kind, points in by_kind.items():
        now, then = learned.job_kinds[kind].minutes_a_hive, farm.job_kinds[kind].minutes_a_hive
        yield MinutesRow(farm.job_kinds[kind].name, then.value, now.value if now != then else None, tuple(points))


def _feed(asked: Asked, last: dt.date) -> Iterator[FeedRow]:
    for site in asked.farm.sites:
        reading = last_reading(asked.farm, asked.here.get(site.id, ()), site, asked.air)
        held = levels(reading.season, asked.season, south=asked.south) if reading else ()
        if reading is None or not held:
            continue
        days = carried_forward(reading, last, asked.air)
        found = [level_on(day.date, held) for day in days]
        yield FeedRow(
            site=site.name,
            dates=tuple(day.date for day in days),
            middle_kg=tuple(day.mean_kg for day in days),
            low_kg=tuple(day.weakest_kg for day in days),
            high_kg=tuple(day.strongest_kg for day in days),
            feed_below_kg=tuple(level.kg if level else None for level in found),
        )


def has_log(folder: Path) -> bool:
    """Return whether the farm folder has a log."""
    return (folder / pipeline.LOG).exists()
