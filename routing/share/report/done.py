"""Reads the report that a helper sends back from the page: which jobs were done when, and the notes.

The format, version 1. Between the first line `what-i-did: 1` and the last line `end: 3 done, 1 left` each line is
`word: value`; what stands before and after (a greeting, a signature) is not read. In this order:

    what-i-did: 1
    round: 9f69a729d2543a7d           the key of the plan (`round_key`), 16 hexadecimal digits
    crew: rowan                       the crew's id
    date: 2026-12-10
    sent: 2026-12-10T16:02:11Z        when the text was made, by the phone's clock, UTC

    site: mill                        begins a stop; the id of its site
    done: 2026-12-10T09:14:05Z jobs.csv:2    a job ticked off, when by the phone's clock, and the job's id
    part: 2026-12-10T09:40:00Z jobs.csv:4    a job done at some of its hives: it is left to do at the others
    left: jobs.csv:15                 a job not ticked off
    kept: 2 of 5, 2026-12-10T13:41:00Z    the stop's place in the order that was kept in the field, and when it was to
                                      be finished; or `left out`; no such line where the plan was followed
    note: The gate was locked         what the helper wrote, one line; lines without a word that follow belong to it

    end: 1 done, 1 left               so that a text which was cut on the way is noticed

After a job may stand, each on a line, what else is known of it:

    kind: fondant                     the id of its job kind, so that a list that was changed since is noticed
    hives: 9 of 14                    at how many of its hives it was done
    used: 12.5 fondant                an amount other than what was reckoned, in the material's own units
    stores: 9.5                       of a heft: kilograms of stores of an average colony

In the last line a job that was done in part counts as left. Lines that begin with # are for people. Empty lines, spaces
at the ends and `> ` of quoted mail do not matter. A tick is a tap on a phone: it says when the helper tapped, not when
the work ended. The reader looks at nothing but the text.
"""

from __future__ import annotations

import datetime as dt
import re

from pydantic import AwareDatetime

from routing.errors import Fault, ReportError
from routing.farm.faults import quoted
from routing.farm.models import Frozen
from routing.farm.unfit import UnfitError
from routing.farm.values import LONGEST_ID
from routing.farm.written_forms import FIRST_YEAR, LAST_YEAR
from routing.share.report.done_details import DETAILS, ReportedJob, with_detail
from routing.share.safety.safe import plain_text

__all__ = ["Done", "ReportedJob", "ReportedStop", "read_done"]

MOST_CHARACTERS = 200_000
MOST_LINES = 5_000
"""A text of more is no report: a day of a hundred stops with long notes stays below both."""
MOST_FAULTS = 20
"""After so many faults one more would not help."""
LONGEST_JOB = 200
"""Characters of a job's id: a rule, a site and the number of a part stay below it."""

_HEAD = ("round", "crew", "date", "sent")
_LINE = re.compile(
    r"(what-i-did|round|crew|date|sent|site|done|part|left|kind|hives|used|stores|kept|note|end):\s*(.*)"
)
_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)
_END = re.compile(r"(\d{1,6}) done, (\d{1,6}) left", re.ASCII)


_KEPT = re.compile(r"([1-9]\d{0,2}) of ([1-9]\d{0,2}), (\S+)", re.ASCII)
LEFT_OUT = "left out"


class KeptPlace(Frozen):
    """A stop's place in the order that was kept in the field."""

    place: int
    """From 1; 0 where the stop was left out."""
    of: int
    finish: AwareDatetime | None
    """When its work was to be finished; None where it was left out."""


class ReportedStop(Frozen):
    """One stop of the report: the id of its site, its jobs in order, and the helper's note or an empty text."""

    site: str
    jobs: tuple[ReportedJob, ...]
    note: str = ""
    kept: KeptPlace | None = None
    """Where the stop stands in the order that was kept in the field; None where the plan was followed."""


class Done(Frozen):
    """One crew's report of one day."""

    round_key: str
    crew: str
    date: dt.date
    sent: AwareDatetime
    stops: tuple[ReportedStop, ...]

    @property
    def done(self) -> tuple[tuple[str, ReportedJob], ...]:
        """The site and the job of each job that was ticked off, in the report's order."""
        return tuple((stop.site, job) for stop in self.stops for job in stop.jobs if job.ticked and not job.part)

    @property
    def parts(self) -> tuple[tuple[str, ReportedJob], ...]:
        """The site and the job of each job that was done at some of its hives, in the report's order."""
        return tuple((stop.site, job) for stop in self.stops for job in stop.jobs if job.ticked and job.part)

    @property
    def left(self) -> tuple[tuple[str, ReportedJob], ...]:
        """The site and the job of each job that was not ticked off, in the report's order."""
        return tuple((stop.site, job) for stop in self.stops for job in stop.jobs if job.ticked is None)


def read_done(text: str, name: str = "report") -> Done:
    """Return the report in `text`. Raises ReportError with every fault, each with `name` and its line."""
    return _Reading(name).read(text)


class _Reading:
    """Goes through the lines once, notes every fault, and hands out the report only where there is none."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.faults: list[Fault] = []
        self.head: dict[str, str] = {}
        self.heads_seen: set[str] = set()
        self.stops: list[ReportedStop] = []
        self.seen: set[str] = set()
        self.in_note = False
        self.in_part: dict[str, int] = {}
        """The line of each job that is said to be done in part, 0 for the others."""

    def read(self, text: str) -> Done:
        if len(text) > MOST_CHARACTERS or text.count("\n") > MOST_LINES:
            self._fault(0, "is too long to be a report", "is it the right text?")
        else:
            self._lines(text)
        if self.faults:
            raise ReportError(self.faults)
        return Done(
            round_key=self.head["round"],
            crew=self.head["crew"],
            date=dt.date.fromisoformat(self.head["date"]),
            sent=_moment(self.head["sent"]),
            stops=tuple(self.stops),
        )

    def _lines(self, text: str) -> None:
        lines = [re.sub(r"^(?:\s*>)*", "", line).strip() for line in text.lstrip("\ufeff").splitlines()]
        start = next((at for at, line in enumerate(lines) if line.startswith("what-i-did:")), None)
        if start is None:
            self._fault(0, "holds no line that begins with what-i-did:", "copy the whole text of the page's report")
            return
        if lines[start].partition(":")[2].strip() != "1":
            self._fault(
                start + 1, f"{quoted(lines[start])} is not version 1, the only one known here", "update outyard"
            )
            return
        for number, line in enumerate(lines[start + 1 :], start + 2):
            if not line or line.startswith("#"):
                continue
            found = _LINE.fullmatch(line)
            if found and found[1] == "end":
                self._end(number, found[2])
                return
            self._line(number, line, found)
            if len(self.faults) >= MOST_FAULTS:
                self._fault(number, "has too many faults: the rest was not read", "is it the right text?")
                return
        self._fault(len(lines), "has no end line, so it was cut on the way", "ask for it again, as a file")

    def _line(self, number: int, line: str, found: re.Match[str] | None) -> None:
        if found is None:
            if self.in_note:
                self._note(line)
            else:
                self._fault(number, f"{quoted(line)} was not understood", "leave the lines of the report as they are")
            return
        word, value = found[1], plain_text(found[2])
        self.in_note = False
        if word in _HEAD:
            self._in_head(number, word, value)
        elif word == "site":
            self._site(number, value)
        elif not self.stops:
            self._fault(number, f"{quoted(line)} stands before any site", "leave the lines of the report as they are")
        elif word == "note":
            self.in_note = True
            self._note(value)
        elif word == "kept":
            self._kept(number, value)
        elif word in DETAILS:
            self._detail(number, word, value)
        else:
            self._job(number, word, value)

    def _in_head(self, number: int, word: str, value: str) -> None:
        if word in self.heads_seen or self.stops:
            self._fault(number, f"{word} stands in it twice or in the wrong place", "send one report at a time")
        elif not _fits(word, value):
            self._fault(number, f"{word} {quoted(value)} is not what that line holds")
        else:
            self.head[word] = value
        self.heads_seen.add(word)

    def _site(self, number: int, value: str) -> None:
        if not value or len(value) > LONGEST_ID:
            self._fault(number, f"site {quoted(value)} is not the id of a site" if value else "site has no id")
        for word in _HEAD if not self.stops else ():
            if word not in self.heads_seen:
                self._fault(number, f"the line {word} is missing before the first site")
        self.stops.append(ReportedStop(site=value, jobs=()))

    def _job(self, number: int, word: str, value: str) -> None:
        ticked = word != "left"
        time, _, job = value.partition(" ") if ticked else ("", "", value)
        if not job or len(job) > LONGEST_JOB or (ticked and not _is_moment(time)):
            self._fault(number, f"{word} {quoted(value)} is not {'a time and ' if ticked else ''}the id of a job")
            return
        if job in self.seen:
            self._fault(number, f"job {quoted(job)} stands in it twice")
        self.seen.add(job)
        self.in_part[job] = number if word == "part" else 0
        reported = ReportedJob(id=job, ticked=_moment(time) if time else None)
        stop = self.stops[-1]
        self.stops[-1] = stop.model_copy(update={"jobs": (*stop.jobs, reported)})

    def _detail(self, number: int, word: str, value: str) -> None:
        stop = self.stops[-1]
        if not stop.jobs:
            self._fault(number, f"{word} {quoted(value)} stands before any job of its site")
            return
        try:
            job = with_detail(stop.jobs[-1], word, value)
        except UnfitError as error:
            self._fault(number, f"{word} {quoted(value)} {error}")
        else:
            self.stops[-1] = stop.model_copy(update={"jobs": (*stop.jobs[:-1], job)})

    def _kept(self, number: int, value: str) -> None:
        found = _KEPT.fullmatch(value)
        stop = self.stops[-1]
        if value == LEFT_OUT:
            kept = KeptPlace(place=0, of=0, finish=None)
        elif found and int(found[1]) <= int(found[2]) and _is_moment(found[3]):
            kept = KeptPlace(place=int(found[1]), of=int(found[2]), finish=_moment(found[3]))
        else:
            self._fault(number, f"kept {quoted(value)} is not a place of so many and a time, nor {LEFT_OUT}")
            return
        if stop.kept is not None:
            self._fault(number, f"kept {quoted(value)} stands twice at one site")
        self.stops[-1] = stop.model_copy(update={"kept": kept})

    def _note(self, text: str) -> None:
        stop = self.stops[-1]
        self.stops[-1] = stop.model_copy(update={"note": plain_text(f"{stop.note} {text}")})

    def _end(self, number: int, value: str) -> None:
        found = _END.fullmatch(value)
        jobs = [job for stop in self.stops for job in stop.jobs]
        left = sum(job.ticked is None or bool(self.in_part[job.id]) for job in jobs)
        counted = (len(jobs) - left, left)
        for job in jobs:
            if job.ticked is not None and job.part != bool(self.in_part[job.id]):
                line = self.in_part[job.id] or number
                told = "is done in part" if self.in_part[job.id] else "is done"
                self._fault(line, f"job {quoted(job.id)} {told}, and its hives say otherwise")
        if not self.stops:
            self._fault(number, "names no site")
        elif found is None:
            self._fault(number, f"end {quoted(value)} is not so many done and so many left")
        elif not self.faults and counted != (int(found[1]), int(found[2])):
            self._fault(
                number,
                f"says {value}, but {counted[0]} done and {counted[1]} left stand in it",
                "a part was lost: ask for it again, as a file",
            )

    def _fault(self, line: int, what: str, fix: str = "") -> None:
        self.faults.append(Fault(self.name, line, what, fix))


def _fits(word: str, value: str) -> bool:
    if word == "round":
        return re.fullmatch(r"[0-9a-f]{16}", value) is not None
    if word == "date":
        return _DATE.fullmatch(value) is not None and _is_moment(f"{value}T00:00:00Z")
    return _is_moment(value) if word == "sent" else 0 < len(value) <= LONGEST_ID


def _is_moment(text: str) -> bool:
    """Return whether a text is a moment of a year that may be: the clock of a phone that lost its time is not."""
    if not _TIME.fullmatch(text):
        return False
    try:
        return FIRST_YEAR <= _moment(text).year <= LAST_YEAR
    except ValueError:
        return False


def _moment(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text)
