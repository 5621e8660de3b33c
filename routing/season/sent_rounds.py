"""What the farm has written for its crews: a line for each crew and day in `rounds.jsonl` of the farm folder.

A report that comes back is taken for one of these days and for nothing else. Lines are only ever added, each as one
JSON document (RFC 8259); one that cannot be read, such as the last after a power cut, is no day. It stands apart from
the log, because a log changes what is planned and is begun by the farmer.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from pydantic import AwareDatetime, Field, ValidationError

from routing.farm.models import Frozen
from routing.season.entries import Day

FILE = "rounds.jsonl"
MOST_BYTES = 8_000_000
"""When the file is larger, the older half of it goes: some thousand plans."""


class WrittenJob(Frozen):
    """One job of a day, as a report names it and as the farm does."""

    told: str
    id: str
    site: str
    kind: str = ""
    """Empty where hives of a move are set down."""
    hives: int = Field(ge=0)


class WrittenDay(Frozen):
    """One crew's day of a round that was written."""

    key: str = Field(pattern=r"^[0-9a-f]{16}$")
    crew: str
    date: Day
    home: AwareDatetime
    sites: tuple[str, ...] = ()
    """As a report names them."""
    jobs: tuple[WrittenJob, ...] = ()

    def job(self, told: str) -> WrittenJob | None:
        """Return the job that a report calls so."""
        return next((job for job in self.jobs if job.told == told), None)

    def joined(self, other: WrittenDay) -> WrittenDay:
        """Return the day as both pages of it tell it: one of them may have nicknames."""
        sites, jobs = ((*getattr(self, name), *getattr(other, name)) for name in ("sites", "jobs"))
        return self.model_copy(update={"sites": tuple(dict.fromkeys(sites)), "jobs": tuple(dict.fromkeys(jobs))})


def written_days(folder: Path) -> Mapping[str, WrittenDay]:
    """Return the days that were written for a farm, by their keys. Raises OSError, not where there is no such file."""
    try:
        with (folder / FILE).open("rb") as file:
            file.seek(max(0, (folder / FILE).stat().st_size - 2 * MOST_BYTES))
            lines = file.read(2 * MOST_BYTES).splitlines()
    except FileNotFoundError:
        return {}
    found: dict[str, WrittenDay] = {}
    for day in (_day(line) for line in lines):
        if day is not None:
            found[day.key] = found[day.key].joined(day) if day.key in found else day
    return found


def remember(folder: Path, days: Iterable[WrittenDay]) -> None:
    """Write down days that go out to crews, those that are not there yet, flushed to the disk. Raises OSError."""
    known = written_days(folder)
    new = [day for day in days if day.key not in known or known[day.key].joined(day) != known[day.key]]
    if not new:
        return
    path = folder / FILE
    text = "".join(f"\n{day.model_dump_json()}" for day in new) + "\n"  # a line that was cut off before does no harm
    with path.open("ab") as file:
        file.write(text.encode())
        file.flush()
        os.fsync(file.fileno())
    if path.stat().st_size > MOST_BYTES:
        _keep_the_newer_half(path)


def _keep_the_newer_half(path: Path) -> None:
    lines = path.read_bytes().splitlines(keepends=True)
    beside = path.with_name(f".{path.name}-{os.getpid()}")
    try:
        beside.write_bytes(b"".join(lines[len(lines) // 2 :]))
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _day(line: bytes) -> WrittenDay | None:
    try:
        return WrittenDay.model_validate_json(line)
    except ValidationError:
        return None
