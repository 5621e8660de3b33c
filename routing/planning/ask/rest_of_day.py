"""The rest of a day: from where the crew stands, at what time, with what is done and what is on the van.

The crew's first drive starts where it stands instead of at base; everything else is planned and checked as always.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from routing.errors import AskedError
from routing.farm.models import Crew, Farm, Figure, Job, JobKind, Rank, Underway
from routing.farm.parts import SET_DOWN
from routing.travel.legs import LegRoute, Legs, RouteSource

HERE = "here"
"""The id of a place that is no site, last in the legs."""

THOUSAND = 1000


@dataclass(frozen=True)
class Had:
    """What the crew's day was until now."""

    away_seconds: int = 0
    """How long it has been away from base."""
    rested: bool = False
    """Whether it has had its break."""
    done: Sequence[str] = ()
    """Sites (all their jobs), `site:kind`, or `site:kind=9` where so many hives of it are done."""
    hives: Sequence[str] = ()
    """Sites whose hives are on the vehicle to be moved."""


@dataclass(frozen=True)
class Aboard:
    """What is on the vehicle, in units of each material."""

    amounts: Mapping[str, float]
    """To be used. What is not named is not short where not all is counted, else it is not there."""
    brought: Mapping[str, float]
    """What goes home."""
    counted: bool
    """Whether this is all."""


def rest_of_day(farm: Farm, crew: Crew, underway: Underway, had: Had, aboard: Aboard) -> Farm:
    """Return the farm for the rest of the day: one crew, out already, what is done taken away, the van as the store.

    The crew goes home at the end and not before, since the van as it is cannot be loaded at base. Raises AskedError
    for an unknown name, and where more is on the vehicle than it may carry.
    """
    unknown = sorted(set(aboard.amounts) - farm.materials.keys())
    if unknown:
        raise AskedError(f'"{unknown[0]}" is no material; there are: {", ".join(sorted(farm.materials))}')
    jobs, kinds, hives = _set_down_of(farm, jobs_left(farm, had.done), had.hives)
    stock = {material: _thousandths(amount) for material, amount in aboard.amounts.items()}
    if aboard.counted:
        stock = {material: stock.get(material, 0.0) for material in farm.materials}
    for material, amount in hives.items():
        if material in stock:
            stock[material] += amount
    now = underway.model_copy(
        update={
            "break_after_hours": crew.break_after_hours,
            "counted": aboard.counted,
            "brought": {material: _thousandths(amount) for material, amount in aboard.brought.items()},
        }
    )
    tired = {
        "earliest_start": underway.at,
        "trips_a_day": 1,
        "break_minutes": 0.0 if had.rested else crew.break_minutes,
        "break_after_hours": _hours_left(crew.break_after_hours, had.away_seconds),
        "days_off_weekdays": frozenset(),
        "days_off_dates": frozenset(),
    }
    rest = farm.model_copy(
        update={
            "jobs": jobs,
            "job_kinds": kinds,
            "stock": stock,
            "base": farm.base.model_copy(update={"loading_minutes": 0.0}),
            "crews": (crew.model_copy(update=tired),),
            "underway": now,
        }
    )
    _require_carried(rest)
    return rest


def jobs_left(farm: Farm, done: Sequence[str]) -> tuple[Job, ...]:
    """Return the jobs that are still to be done, of one half done the hives that are left. Raises AskedError."""
    left = list(farm.jobs)
    sites = {site.id for site in farm.sites}
    for name in done:
        which, sign, hives = name.rpartition("=")
        if not sign or any(_is(job, name) for job in left):
            which, hives = name, ""
        here = [job for job in left if _is(job, which)]
        if not here and (which not in sites or hives):
            raise AskedError(f'"{which}" is no site of {farm.tables.sites}, and no site:kind of the jobs for that day')
        after = _some_done(name, here, hives) if hives else {}
        left = [after.get(job.id, job) for job in left if job not in here or job.id in after]
    return tuple(left)


def _some_done(name: str, jobs: Sequence[Job], hives: str) -> dict[str, Job]:
    """Return what is left of jobs of which so many hives are done, by id; a job that is done is not there."""
    count, most = int(hives) if hives.isascii() and hives.isdigit() else -1, sum(job.hives for job in jobs)
    if len({job.kind for job in jobs}) > 1:
        raise AskedError(f'--done "{name}": several jobs are wanted there; write site:kind={hives}')
    if not 0 <= count <= most:
        raise AskedError(f'--done "{name}": write how many of its {most} hives are done, 0 to {most}')
    found = {}
    for job in jobs:
        here = min(count, job.hives)
        count -= here
        if here < job.hives:
            found[job.id] = job.model_copy(
                update={"hives": job.hives - here, "of_hives": job.of_hives or job.hives} if here else {}
            )
    return found


def _set_down_of(
    farm: Farm, jobs: Sequence[Job], sites: Sequence[str]
) -> tuple[tuple[Job, ...], dict[str, JobKind], dict[str, float]]:
    """Return the jobs with moves from these sites as what is left of them, the job kinds, and the hives on board."""
    kinds, aboard, found = dict(farm.job_kinds), dict[str, float](), list(jobs)
    for site in sites:
        moves = [job for job in found if job.to and job.site == site]
        if not moves:
            raise AskedError(f'no hives are to be moved from "{site}", so none of them are on board')
        for move in moves:
            kind = farm.job_kinds[move.kind]
            if kind.set_down_minutes_a_hive is None:
                raise AssertionError(f"job kind {kind.id} moves no hives to another site")
            kinds[kind.id + SET_DOWN] = _end_of(kind, kind.set_down_minutes_a_hive)
            found[found.index(move)] = move.model_copy(
                update={"site": move.to, "kind": kind.id + SET_DOWN, "to": "", "rank": Rank.NOW, "helpings": 1}
            )
            for use in kind.brings_back:
                aboard[use.material] = aboard.get(use.material, 0.0) + use.a_hive.value * move.hives
    return tuple(found), kinds, aboard


def _end_of(kind: JobKind, minutes: Figure) -> JobKind:
    """Return the job kind of setting down hives that are on the vehicle: they are used up where they go."""
    return kind.model_copy(
        update={
            "id": kind.id + SET_DOWN,
            "name": f"{kind.name}: set down",
            "minutes_a_hive": minutes,
            "takes": kind.brings_back,
            "brings_back": (),
            "set_down_minutes_a_hive": None,
        }
    )


def _hours_left(hours: float, away_seconds: int) -> float:
    """Return after how many hours from now the break is due; as seconds they are whole, also when written as decimals.

    Of hours that are no whole seconds a part of one is lost.
    """
    return hours_of(max(0, int(round(hours * 3600, 6)) - away_seconds))


def hours_of(seconds: int) -> float:
    """Return whole seconds as hours that are read as so many again."""
    return math.nextafter(seconds / 3600, math.inf) if seconds % 9 else seconds / 3600


def _thousandths(amount: float) -> float:
    """Return an amount in whole thousandths, never more than there is."""
    return math.floor(round(amount * THOUSAND, 6)) / THOUSAND


def _require_carried(farm: Farm) -> None:
    now, (crew,) = farm.underway, farm.crews
    if now is None or not now.counted:
        return
    vehicle = farm.vehicles[crew.vehicle]
    amounts = {name: farm.stock[name] + now.brought.get(name, 0.0) for name in farm.materials}
    kg = sum(amount * farm.materials[name].kg_each.value for name, amount in amounts.items())
    litres = sum(amount * farm.materials[name].litres_each.value for name, amount in amounts.items())
    for amount, most, unit in ((kg, vehicle.payload_kg, "kg"), (litres, vehicle.space_litres, "litres")):
        if round(amount, 6) > most:
            raise AskedError(
                f"on board would be {amount:.0f} {unit}, and {vehicle.name} carries {most:g}: "
                "say with --on-board what is on it"
            )


def from_here(legs: Legs, here: int) -> Legs:
    """Return the legs with the drives out of the base replaced by those out of the place in row `here`.

    The base is still come home to, also straight from here. A last place `HERE`, which is no site, is dropped.
    """

    def moved(one: Legs) -> Legs:
        size = len(one.places) - (one.places[-1] == HERE)
        seconds, metres = np.array(one.seconds), np.array(one.metres)
        seconds[0], metres[0] = seconds[here], metres[here]
        origins = (one.origins[here], *one.origins[1:])
        return replace(
            one,
            routes=_NotFromBase(one.routes) if one.routes else None,
            places=one.places[:size],
            seconds=seconds[:size, :size],
            metres=metres[:size, :size],
            origins=tuple(row[:size] for row in origins[:size]),
        )

    by_vehicle = {vehicle: moved(one) for vehicle, one in legs.by_vehicle.items()}
    return replace(moved(legs), by_vehicle=by_vehicle)


@dataclass(frozen=True)
class _NotFromBase:
    """The ways of the legs, but for those out of the base, which begin elsewhere now."""

    routes: RouteSource

    def route(self, start: int, end: int) -> LegRoute:
        return self.routes.route(start, end) if start else LegRoute("", ())


def _is(job: Job, name: str) -> bool:
    return name in {job.site, f"{job.site}:{job.kind}"}
