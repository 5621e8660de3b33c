"""A remedy of a left-out visit taken at its word: the farm as it would be with it, to be planned anew."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from routing.farm.models import Crew, Farm
from routing.plain_words import count, people_words
from routing.planning.ask.what_if import sooner
from routing.round import LeftOut, Remedy, RemedyKind

_MINUTE = 60


@dataclass(frozen=True)
class Remedied:
    """The farm with a remedy, and what in it the folder does not say, in a sentence."""

    farm: Farm
    words: str


def remedied(farm: Farm, left: LeftOut, remedy: Remedy) -> Remedied | None:
    """Return the farm with a remedy; None for one that is no matter of the farm, or of nobody's to give.

    Leaving something else out and another day change the round alone; nobody can give more light. Raises AskedError
    where an earlier start would be on another day.
    """
    crew = next((each for each in farm.crews if left.insertion is not None and each.id == left.insertion.crew), None)
    if remedy.kind is RemedyKind.MORE_STOCK:
        return _with_stock(farm, left, remedy)
    if remedy.kind is RemedyKind.LIGHTER_LOAD:
        return _with_fewer_hives(farm, left, int(remedy.amount))
    changes = _OF_CREW.get(remedy.kind)
    if crew is None and remedy.kind is RemedyKind.MORE_PEOPLE and len(farm.crews) == 1:
        crew = farm.crews[0]
    if crew is None:
        return None
    if remedy.kind is RemedyKind.OTHER_VEHICLE:
        return _with_larger_vehicle(farm, crew, left, remedy.amount)
    if changes is None:
        return None
    update, words = changes(crew, remedy.amount)
    crews = tuple(each.model_copy(update=update) if each.id == crew.id else each for each in farm.crews)
    return Remedied(farm.model_copy(update={"crews": crews}), words)


type _Change = Callable[[Crew, float], tuple[Mapping[str, object], str]]


def _earlier(crew: Crew, seconds: float) -> tuple[Mapping[str, object], str]:
    start = sooner(crew.earliest_start, round(seconds / _MINUTE))
    words = f"{crew.name} begins at {start:%H:%M} at the earliest, not {crew.earliest_start:%H:%M}"
    return {"earliest_start": start}, words


def _later(crew: Crew, seconds: float) -> tuple[Mapping[str, object], str]:
    whole = dt.datetime.combine(dt.date.min, crew.home_by) + dt.timedelta(seconds=seconds)
    return {"home_by": whole.time()}, f"{crew.name} is home by {whole:%H:%M}, not {crew.home_by:%H:%M}"


def _more_people(crew: Crew, more: float) -> tuple[Mapping[str, object], str]:
    people = crew.people + int(more)
    return {"people": people}, f"{crew.name} is {people_words(people)}, not {crew.people}"


def _more_trips(crew: Crew, more: float) -> tuple[Mapping[str, object], str]:
    trips = crew.trips_a_day + int(more)
    return {"trips_a_day": trips}, f"{crew.name} may leave base {count(trips, 'time')} a day, not {crew.trips_a_day}"


_OF_CREW: Mapping[RemedyKind, _Change] = {
    RemedyKind.EARLIER_START: _earlier,
    RemedyKind.LATER_HOME: _later,
    RemedyKind.MORE_PEOPLE: _more_people,
    RemedyKind.MORE_TRIPS: _more_trips,
}


def _with_stock(farm: Farm, left: LeftOut, remedy: Remedy) -> Remedied | None:
    """Return the farm with so much more of what is short, where that is one thing."""
    short = [fall.what for fall in (left.insertion.shortfalls if left.insertion else ())]
    lacking = [id_ for id_, facts in farm.materials.items() if f"stock of {facts.name}" in short]
    if len(lacking) != 1:
        return None
    facts, stock = farm.materials[lacking[0]], farm.stock.get(lacking[0], 0) + remedy.amount
    words = f"{stock:g} {facts.unit} of {facts.name} are in store, not {farm.stock.get(lacking[0], 0):g}"
    return Remedied(farm.model_copy(update={"stock": {**farm.stock, lacking[0]: stock}}), words)


def _with_larger_vehicle(farm: Farm, crew: Crew, left: LeftOut, amount: float) -> Remedied | None:
    vehicle = farm.vehicles[crew.vehicle]
    short = {fall.what for fall in (left.insertion.shortfalls if left.insertion else ())} & {"payload", "space"}
    if len(short) != 1:
        return None
    field, unit = ("payload_kg", "kg") if short == {"payload"} else ("space_litres", "litres")
    now = float(getattr(vehicle, field))
    larger = vehicle.model_copy(update={field: now + amount})
    words = f"{vehicle.name} carries {now + amount:g} {unit}, not {now:g}"
    return Remedied(farm.model_copy(update={"vehicles": {**farm.vehicles, vehicle.id: larger}}), words)


def _with_fewer_hives(farm: Farm, left: LeftOut, hives: int) -> Remedied | None:
    ids = {job.id for job in left.jobs}
    if len(ids) != 1 or not any(job.id in ids for job in farm.jobs):
        return None
    jobs = tuple(job.model_copy(update={"hives": hives}) if job.id in ids else job for job in farm.jobs)
    words = f"{count(hives, 'hive')} of {left.jobs[0].hives} at {left.name} are done in this visit"
    return Remedied(farm.model_copy(update={"jobs": jobs}), words)
