"""What the farm's files would have to say so that they hold what a round rests on, and what no file can hold."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from routing.farm.models import Crew, Farm, Job, Vehicle
from routing.farm.parts import part_of
from routing.plain_words import count
from routing.season.jobs import due_id
from routing.share.wording import file_changes as words
from routing.stages.due import due, to_plan
from routing.stages.taken import log_first, row_cells

type Way = tuple[str | int, ...]
"""The way to a value in farm.toml: keys, and the number in a list of tables, from 0."""


@dataclass(frozen=True)
class FileChanges:
    """Changes of farm.toml or of the table of jobs; with `unheld` they do not hold all, and are not to be written."""

    settings: Mapping[Way, str | int | float] = field(default_factory=dict)
    cells: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    """Of the table of jobs: new texts by line and column."""
    rows: tuple[tuple[Mapping[str, str], int], ...] = ()
    """Rows to be added to it, each with the line of the row that it follows, 0 for the end."""
    begins_log: bool = False
    """Whether the log must be there first: without one a table with rows silences all else that is due."""
    unheld: tuple[str, ...] = ()
    """What no file of the farm holds, a sentence each."""

    @property
    def may_be_written(self) -> bool:
        """Whether there is something to write, and the files then say all of it."""
        return bool(self.settings or self.cells or self.rows) and not self.unheld


def between(farm: Farm, wanted: Farm) -> FileChanges:
    """Return what makes the files of a farm say what another farm made from it says."""
    settings: dict[Way, str | int | float] = {}
    unheld: list[str] = []
    for number, (crew, other) in enumerate(zip(farm.crews, wanted.crews, strict=True)):
        settings |= {("crew", number, name): value for name, value in _of_crew(crew, other)}
        if crew.pace != other.pace:
            unheld.append(words.PACE)
    for vehicle, larger in zip(farm.vehicles.values(), wanted.vehicles.values(), strict=True):
        unheld += _of_vehicle(vehicle, larger)
    for material, amount in wanted.stock.items():
        if farm.stock.get(material) != amount:
            settings["stock", material] = int(amount) if amount == int(amount) else amount
    cells, rows, told = _fewer_hives(farm, wanted)
    return FileChanges(settings, cells, rows, unheld=tuple(dict.fromkeys([*unheld, *told])))


def _of_crew(crew: Crew, wanted: Crew) -> Iterator[tuple[str, str | int]]:
    for name in ("earliest_start", "home_by"):
        if getattr(crew, name) != getattr(wanted, name):
            yield name, f"{getattr(wanted, name):%H:%M}"
    for name in ("people", "trips_a_day", "vehicle"):
        if getattr(crew, name) != getattr(wanted, name):
            yield name, getattr(wanted, name)


def _of_vehicle(vehicle: Vehicle, wanted: Vehicle) -> Iterator[str]:
    if (vehicle.payload_kg, vehicle.space_litres) != (wanted.payload_kg, wanted.space_litres):
        yield words.VEHICLE.format(name=vehicle.name)


def _fewer_hives(
    farm: Farm, wanted: Farm
) -> tuple[dict[int, dict[str, str]], tuple[tuple[Mapping[str, str], int], ...], list[str]]:
    """Return the rows that are parted in two, so that the other hives of each stay wanted, and what no file holds."""
    cells: dict[int, dict[str, str]] = {}
    rows: list[tuple[Mapping[str, str], int]] = []
    told: list[str] = []
    now = {job.id: job for job in farm.jobs}
    for job in wanted.jobs:
        old = now.get(job.id)
        if old is None or old.hives == job.hives:
            continue
        if not job.line:
            told.append(words.HIVES_OF_A_RULE.format(name=farm.site(job.site).name))
            continue
        cells[job.line] = {"hives": str(job.hives)}
        rest = old.model_copy(update={"hives": old.hives - job.hives, "id": ""})
        rows.append((row_cells(farm, rest), job.line))
    return cells, tuple(rows), told


def put_off(farm: Farm, jobs: Iterable[str], on: dt.date, until: dt.date) -> FileChanges:
    """Return what puts jobs off, which are wanted on a date: rows of the table of jobs that begin with a later day.

    A due date of a rule gets a row, which holds the rule up no longer than to the rule's own day. Raises what
    `stages.due.due` and `to_plan` raise.
    """
    wanted = {job.id: job for job in to_plan(farm, on).jobs}
    written = {job.line: job for job in farm.jobs}
    ids = dict.fromkeys(part_of(id_).whole for id_ in jobs)
    cells: dict[int, dict[str, str]] = {}
    rows: list[tuple[Mapping[str, str], int]] = []
    told: list[str] = []
    for job in (wanted[id_] for id_ in ids if id_ in wanted):
        name = f"{farm.job_kinds[job.kind].name} at {farm.site(job.site).name}"
        row = written.get(job.line)
        if job.promised:
            told.append(words.PROMISED.format(name=name, day=job.promised))
        elif job.due_by is not None and job.due_by < until:
            told.append(words.DUE_BEFORE.format(name=name, day=job.due_by, until=until))
        elif row is not None:
            cells[row.line] = {"not_before": until.isoformat()}
        else:
            rows.append((_held_up(farm, job, on, until), 0))
    missing = [id_ for id_ in ids if id_ not in wanted]
    told += [words.GONE.format(jobs=count(len(missing), "job"))] if missing else []
    first = bool(rows) and log_first(farm)
    return FileChanges(cells=cells, rows=tuple(rows), begins_log=first, unheld=tuple(told))


def _held_up(farm: Farm, job: Job, on: dt.date, until: dt.date) -> Mapping[str, str]:
    """Return the row that holds a due date up; with the whole helping, hives and rank that the rule asks for."""
    rule = next(item.rule for item in due(farm, on).items if due_id(item) == job.id)
    return row_cells(farm, job.model_copy(update={"not_before": until, "note": f"due by the rule {rule}"}))
