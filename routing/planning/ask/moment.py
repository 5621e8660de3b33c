"""What a crew says of its day under way, and what is on its vehicle by the load list and by what is done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from routing.errors import AskedError
from routing.farm.models import BASE, Crew, Farm, Job
from routing.plain_words import date_words
from routing.planning.ask.rest_of_day import Aboard, Had, jobs_left
from routing.planning.model.dates import crews_out, day_off
from routing.round import Itinerary, PlannedJob, Round

THOUSAND = 1000


@dataclass(frozen=True)
class Moment:
    """Where the crew stands and when, and what it did and has."""

    at: dt.time
    here: str
    """A site's id, `base`, or any text that is a place."""
    done: Sequence[str] = ()
    """Sites, `site:kind`, or `site:kind=9` where so many hives of it are done."""
    on_board: Mapping[str, float] | None = None
    """What is known to be otherwise than the load list and what is done say."""
    left: dt.time | None = None
    """When base was left; None for as it was planned."""
    rested: bool = False
    hives: Sequence[str] = ()
    """Sites whose hives are on the vehicle to be moved."""
    day_off: bool = False
    """Whether the crew is out though it has the day off."""
    planned: Round | None = None
    """The plan of that day, where one is written."""

    def day_of(self, crew: str) -> Itinerary | None:
        """Return what the plan had the crew do."""
        days = self.planned.itineraries if self.planned is not None else ()
        return next((day for day in days if day.crew == crew), None)

    def begun(self) -> bool:
        """Whether anything says that the crew has left base."""
        return self.here != BASE or bool(self.done or self.hives or self.left)


def crew_out(farm: Farm, crew: str, date: dt.date, moment: Moment) -> Crew:
    """Return the crew that asks. Raises AskedError where it is unknown, or should not be out and nobody says it is."""
    found = next((one for one in farm.crews if one.id == crew), None)
    if found is None:
        raise AskedError(f'crew "{crew}" is not in farm.toml')
    if moment.day_off or found in crews_out(farm, date):
        return found
    why = "has the day off on" if day_off(found, date) else "has no vehicle of its own on"
    raise AskedError(f"{found.name} {why} {date_words(date)}: is it out all the same? Then say --day-off too")


def had_until(crew: Crew, date: dt.date, moment: Moment) -> Had:
    """Return what the crew's day was until now. Raises AskedError where it left base later than now."""
    day = moment.day_of(crew.id)
    away = 0
    if moment.left is not None:
        away = _seconds(moment.left, moment.at)
        if away < 0:
            raise AskedError(f"--left {moment.left:%H:%M} is later than --at {moment.at:%H:%M}")
    elif day is not None and moment.begun() and day.leave.date() == date:
        away = max(0, _seconds(day.leave.time(), moment.at))
    return Had(away, moment.rested, moment.done, moment.hives)


def _seconds(start: dt.time, end: dt.time) -> int:
    clock = dt.date(2000, 1, 1)
    gone = dt.datetime.combine(clock, end.replace(tzinfo=None)) - dt.datetime.combine(clock, start.replace(tzinfo=None))
    return int(gone.total_seconds())


def aboard_now(farm: Farm, crew: str, moment: Moment) -> Aboard:
    """Return what is on board: what was loaded by the plan less what the work that is done took, or what is said.

    Without a plan only what is said is known.
    """
    day, said = moment.day_of(crew), moment.on_board or {}
    if day is None:
        return Aboard(said, {}, counted=False)
    left = {job.id: job.hives for job in jobs_left(farm, moment.done)}
    trips = list(_trips(day))
    now = _trip_now(trips, left, moment)
    amounts = dict.fromkeys(farm.materials, 0.0)
    for load in day.loads[: now + 1]:
        for item in load.out:
            amounts[item.material] += _stocked(farm, item.material, item.amount)
    brought: dict[str, float] = {}
    for number, jobs in enumerate(trips[: now + 1]):
        for job in jobs:
            hives = job.hives - min(job.hives, left.get(job.id, 0))
            aboard = bool(job.to) and _site_of(farm, job) in moment.hives
            for material, amount in _takes(farm, job, job.hives if aboard else hives):
                amounts[material] -= amount
            if number == now and not job.to:
                for use in farm.job_kinds[job.kind].brings_back:
                    brought[use.material] = brought.get(use.material, 0.0) + use.a_hive.value * hives
    return Aboard({name: said.get(name, max(0.0, amount)) for name, amount in amounts.items()}, brought, counted=True)


def at_base_now(farm: Farm, crew: Crew, moment: Moment) -> dict[str, float] | None:
    """Return what of each counted material is at base for this crew, None where no trip is left or no plan is written.

    What other crew-days of the plan load is theirs.
    """
    day = moment.day_of(crew.id)
    if day is None or moment.planned is None:
        return None
    left = {job.id: job.hives for job in jobs_left(farm, moment.done)}
    now = _trip_now(list(_trips(day)), left, moment)
    if now + 1 >= crew.trips_a_day:
        return None
    found = dict(farm.stock)
    for item in (item for one in moment.planned.itineraries for load in one.loads for item in load.out):
        if item.material in found:
            found[item.material] -= _stocked(farm, item.material, item.amount)
    found = {name: max(0.0, amount) for name, amount in found.items()}
    for item in (item for load in day.loads[now + 1 :] for item in load.out):
        if item.material in found:
            found[item.material] += _stocked(farm, item.material, item.amount)
    return found


def _stocked(farm: Farm, material: str, amount: float) -> float:
    """Return what was loaded: the whole packs that the list says, never more than there was."""
    stock = farm.stock.get(material)
    return amount if stock is None else min(amount, stock)


def _trips(day: Itinerary) -> Iterator[list[PlannedJob]]:
    """Yield the jobs of each trip from base."""
    jobs: list[PlannedJob] = []
    for stop in day.stops:
        if stop.load_again is not None:
            yield jobs
            jobs = []
        jobs += stop.jobs
    yield jobs


def _trip_now(trips: Sequence[Sequence[PlannedJob]], left: Mapping[str, int], moment: Moment) -> int:
    """Return which trip the crew is on: that of the last work that is done; at base with all of it done, the next."""
    begun = [number for number, jobs in enumerate(trips) if any(left.get(job.id, 0) < job.hives for job in jobs)]
    now = begun[-1] if begun else 0
    over = all(left.get(job.id, 0) == 0 for job in trips[now])
    return now + 1 if moment.here == BASE and begun and over and now + 1 < len(trips) else now


def _site_of(farm: Farm, planned: PlannedJob) -> str:
    return next((job.site for job in farm.jobs if job.id == planned.id), "")


def _takes(farm: Farm, planned: PlannedJob, hives: int) -> Iterable[tuple[str, float]]:
    own: Job | None = next((job for job in farm.jobs if job.id == planned.id), None)
    helpings = 1 if own is None else own.helpings
    return ((use.material, use.a_hive.value * hives * helpings) for use in farm.job_kinds[planned.kind].takes)
