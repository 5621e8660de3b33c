"""Helpers' reports into the log: for rounds that this farm wrote, each job once, with what was used."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from routing.errors import AskedError, Fault, WriteError
from routing.farm.models import Farm, Job
from routing.farm.parts import part_of
from routing.farm.values import LONGEST_ID, LONGEST_NOTE
from routing.round import Round
from routing.season.entries import Entry
from routing.season.jobs import with_due_jobs
from routing.season.log import Log
from routing.season.log_file import has_log
from routing.season.rows import MOVED
from routing.season.sent_rounds import FILE as WRITTEN
from routing.season.sent_rounds import WrittenDay, remember, written_days
from routing.share.exports.files import read_round
from routing.share.report.done import Done, read_done
from routing.share.report.done_check import require_of_day
from routing.share.report.done_details import ReportedJob
from routing.share.report.done_file import read_done_file
from routing.share.report.done_words import unknown_to
from routing.share.report.named_again import named_again
from routing.share.report.written_days import days_of
from routing.share.safety.safe import plain_text
from routing.stages.due import asked


@dataclass(frozen=True)
class Reported:
    """A helper's report of a round that this farm wrote, in the farm's own ids."""

    report: Done
    farm: Farm
    """The farm with the jobs that the report names, done or not."""
    warnings: tuple[Fault, ...]
    """What of the report the farm folder does not hold as it is now."""


def read_report(farm: Farm, file: Path, round_file: Path | None = None) -> Reported:
    """Return the report in a file, or from standard input where that is `-`; `round_file` is the round.json of it.

    Raises ReportError where it is no report, or says what the round's page could not have told, and AskedError where
    this farm wrote no such round.
    """
    return _reported_as(farm, read_done_file(file), file.name, round_file)


def read_report_text(farm: Farm, text: str, name: str) -> Reported:
    """Return the report in a text, whose name stands before each fault. Raises what `read_report` raises."""
    return _reported_as(farm, read_done(text, name), name)


def _reported_as(farm: Farm, done: Done, name: str, round_file: Path | None = None) -> Reported:
    report = taken(farm, named_again(farm, done), name, round_file)
    known = as_reported(farm, report)
    return Reported(report, known, unknown_to(known, report, name))


def remember_round(farm: Farm, round_: Round, shown: Round | None = None) -> None:
    """Write down in the farm's folder that a round goes out, so that reports of it are taken. Raises WriteError.

    `shown` is the round as its pages show it, where that is another.
    """
    try:
        remember(farm.folder, (*days_of(round_), *days_of(round_, shown)))
    except OSError as error:
        why = error.strerror or str(error)
        raise WriteError(
            f"{farm.folder / WRITTEN}: cannot be written ({why}), so reports of this round are taken only with "
            "outyard done --round and its round.json"
        ) from error


def taken(farm: Farm, report: Done, name: str, saved: Path | None = None) -> Done:
    """Return a report of a round that this farm wrote, with the farm's own ids in it.

    The farm's folder remembers what it wrote; `rounds/DATE/round.json` in it and `saved`, a round.json that is named,
    are looked at too. Raises AskedError where no such round is known, ReportError where the report says what that
    round's page could not have told; `name` stands before each fault.
    """
    try:
        days = dict(written_days(farm.folder))
    except OSError as error:
        raise AskedError(f"{farm.folder / WRITTEN} cannot be read: {error.strerror}") from error
    usual = farm.folder / "rounds" / report.date.isoformat() / "round.json"
    for path in (saved, usual):
        if path is not None and (path is saved or (report.round_key not in days and path.is_file())):
            days |= {day.key: day for day in _days_in(path, told=path is saved)}
    day = days.get(report.round_key)
    if day is None:
        raise AskedError(
            f"{name}: round {report.round_key} is none that this farm wrote, so the report is not taken; a round that "
            "was written before such were remembered, or in another folder, is named beside it: "
            "outyard done FOLDER REPORT --round ROUND.JSON"
        )
    return require_of_day(report, day, farm.time_zone, name)


def _days_in(path: Path, *, told: bool) -> tuple[WrittenDay, ...]:
    """Return the days of a saved round, none where it cannot be read and nobody named it. Raises AskedError."""
    if not path.is_file() and told:
        raise AskedError(f"{path}: there is no such file; name a round.json")
    try:
        return days_of(read_round(path))
    except (AskedError, ValidationError, OverflowError) as error:
        if told:
            raise AskedError(f"{path.name} holds no round that can be read: {plain_text(str(error), 300)}") from error
        return ()


def as_reported(farm: Farm, report: Done) -> Farm:
    """Return the farm with the jobs that a report names as its jobs, done or not; what it does not know is not there.

    The rows of jobs.csv are taken as they stand in the folder, the due dates by their rules. A row that is of another
    kind or at another site than the report says is not the one that was meant: the file was changed since.
    """
    rows = {job.id: job for job in farm.jobs}
    helpings = _helpings(farm, report)
    found = (_reported(farm, rows, stop.site, job) for stop in report.stops for job in stop.jobs)
    known = (
        job.model_copy(update={"helpings": helpings.get(part_of(job.id).whole, 1)}) for job in found if job is not None
    )
    return farm.model_copy(update={"jobs": tuple(known)})


def _helpings(farm: Farm, report: Done) -> dict[str, int]:
    """Return how large the feeds were that were planned for the report's day, by job: as the log was before it."""
    if farm.jobs and not has_log(farm.folder):
        return {}  # planned as they stand
    record = Log.record_of(farm.folder)
    before = tuple(entry for entry in record.entries if entry.date < report.date)
    planned = with_due_jobs(asked(farm, report.date, record.model_copy(update={"entries": before})))
    return {job.id: job.helpings for job in planned.jobs}


def _reported(farm: Farm, rows: Mapping[str, Job], site: str, told: ReportedJob) -> Job | None:
    part = part_of(told.id)
    job = rows.get(part.whole) or _by_rule(farm, part.whole, told.kind)
    sites = {place.id for place in farm.sites}
    elsewhere = site in sites and job is not None and not job.to and site != job.site
    if job is None or (told.kind and (job.kind != told.kind or elsewhere)):
        return None
    hives = told.of_hives or part.hives_of(job.hives)
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
        reference=_reference(report.round_key, told.id),
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


def _reference(key: str, job: str) -> str:
    """Return the name of the entry of a job of a round, the same for every report of it; the key stands whole in it."""
    whole = f"{key} {job}"
    return whole if len(whole) <= LONGEST_ID else f"{key} {hashlib.sha256(job.encode()).hexdigest()[:32]}"


def log_report(farm: Farm, report: Done) -> int:
    """Write what a report says is done into the log and return how many entries were new.

    A log that is begun by it counts from the report's day. Raises AskedError, and nothing is written, where the log has
    a job of it with other words, or has it done already from another plan of the same day.
    """
    begins, entries = not has_log(farm.folder), _to_log(farm, report)
    log = Log.open(farm.folder)
    if begins:
        log.begin(report.date)
    return log.add_all(entries)


def would_log(farm: Farm, report: Done) -> tuple[Entry, ...]:
    """Return the entries that `log_report` would write now, without those that the log has. Raises what that raises."""
    if report.date > dt.datetime.now(ZoneInfo(farm.time_zone)).date():
        raise AskedError(f"{report.date} is still to come: the log holds what was done")
    known = {entry.reference for entry in Log.record_of(farm.folder).entries}
    return tuple(entry for entry in _to_log(farm, report) if entry.reference not in known)


def _to_log(farm: Farm, report: Done) -> tuple[Entry, ...]:
    entries = entries_of(farm, report)
    return _as_known(farm, report, entries) if has_log(farm.folder) else entries


def _as_known(farm: Farm, report: Done, entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the entries, each under the name that the log has it under already.

    Raises AskedError where it says something else there, or where another plan's report of the day has done the job.
    """
    record = Log.record_of(farm.folder)
    same_day = [entry for entry in record.entries if entry.date == report.date]
    by_reference = {entry.reference: entry for entry in same_day}
    jobs = {told.id: told for stop in report.stops for told in stop.jobs if told.ticked is not None}
    found = []
    for entry, job in zip(entries, jobs, strict=True):
        cut = f"{report.round_key} {job}"[-LONGEST_ID:]  # as it was named when long names lost their beginning
        known = by_reference.get(entry.reference) or by_reference.get(cut)
        if known is not None and known != entry.model_copy(update={"reference": known.reference}):
            raise AskedError(
                f'the log has job "{plain_text(job)}" of this round with other words, from an earlier report: '
                "outyard log undo FOLDER takes that back where it was the last to be written; nothing was written"
            )
        if known is None:
            _require_left(farm, entry, job, report.round_key, same_day)
        found.append(entry if known is None else known)
    return tuple(found)


def _require_left(farm: Farm, entry: Entry, job: str, key: str, same_day: Sequence[Entry]) -> None:
    """Raise AskedError where the same job was reported done that day under another plan, and nothing of it was left."""
    days = [day for day in written_days(farm.folder).values() if day.date == entry.date]
    others = [one for one in same_day if one.reference != entry.reference and _is_of_job(one.reference, job)]
    logged = sum(one.hives or 0 for one in others)
    hives = [planned.hives for day in days for planned in day.jobs if planned.id == job]
    if not {one.reference.partition(" ")[0] for one in others} <= {day.key for day in days}:
        hives.append(farm.site(entry.site).colonies)
    if others and logged + (entry.hives or 0) > max(hives, default=0):
        raise AskedError(
            f'job "{plain_text(job)}" is in the log as done that day, by a report of round {others[0].reference[:16]}: '
            f"that of round {key} would log it twice, so nothing was written; undo that one first, or log by hand"
        )


def _is_of_job(reference: str, job: str) -> bool:
    """Return whether an entry is of a report's job, whatever the round."""
    key = reference.partition(" ")[0]
    return re.fullmatch(r"[0-9a-f]{16}", key) is not None and reference == _reference(key, job)


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
