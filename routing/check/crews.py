"""Crews and vehicles: who goes, in what, on a day that they work, to sites and jobs that they can do."""

from __future__ import annotations

from collections.abc import Iterator

from routing.check.ground import Ground
from routing.check.sentences import broken, day_of, same, stop_of
from routing.round import Itinerary


def crew_is_right(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the crew's name, people or vehicle are not the farm's, or names are hidden."""
    where, crew = day_of(itinerary), ground.crews[itinerary.crew]
    yield from same(where, "the crew's name is right", crew.name, itinerary.crew_name)
    yield from same(where, "the people of the crew are right", crew.people, itinerary.people)
    yield from same(where, "the vehicle is the crew's", crew.vehicle, itinerary.vehicle)
    yield from same(where, "the vehicle's name is right", ground.vehicle(crew).name, itinerary.vehicle_name)
    yield from same(where, "no key of another plan stands in it: no name in it is hidden", "", itinerary.plan_key)


def crew_works(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the date is a day off, or the vehicle is out with a crew listed before."""
    if not ground.works_on(ground.crews[itinerary.crew], itinerary.date):
        yield broken(
            day_of(itinerary), "no crew goes out on a day off", "a working day", "a day off, or its vehicle taken"
        )


def vehicle_reaches(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each stop that the vehicle cannot reach."""
    vehicle = ground.vehicle(ground.crews[itinerary.crew])
    for stop in itinerary.at_sites:
        needed = ground.sites[stop.site].vehicle_needed
        if needed and needed not in vehicle.reaches:
            found = f"{vehicle.id}, which has {', '.join(sorted(vehicle.reaches)) or 'nothing special'}"
            yield broken(stop_of(itinerary, stop), "the vehicle reaches the site", needed, found)


def people_suffice(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each job that needs more people than the crew has."""
    crew = ground.crews[itinerary.crew]
    for stop in itinerary.stops:
        for job in stop.jobs:
            needed = ground.kind(ground.jobs[job.id]).people
            if needed > crew.people:
                where = f"{stop_of(itinerary, stop)}, job {job.id}"
                yield broken(where, "the crew has the people that the job needs", f"{needed} or more", crew.people)
