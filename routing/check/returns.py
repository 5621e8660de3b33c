"""Coming back to base to load again: allowed, needed, told as the farm has it, and never from a suspect site."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from routing.check.cargo import carries, points
from routing.check.exact import clock, instant
from routing.check.ground import Ground
from routing.check.sentences import broken, day_of, same, stop_of
from routing.round import Itinerary


def returns_are_allowed(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where base is come back to too often, without a visit between, or from a site marked last of the day."""
    crew = ground.crews[itinerary.crew]
    trips = 1 + len(itinerary.stops) - len(itinerary.at_sites)
    if trips > crew.trips_a_day:
        promise = "the crew leaves base no oftener than it may"
        yield broken(day_of(itinerary), promise, f"{crew.trips_a_day} trips or fewer", trips)
    for before, stop in pairwise((None, *itinerary.stops, None)):
        empty = [one is None or one.load_again is not None for one in (before, stop)]
        if all(empty) and (before or stop):
            where = day_of(itinerary) if stop is None else stop_of(itinerary, stop)
            yield broken(where, "between two loadings, and after the last, there is a visit", "1 or more", "none")
        elif stop is not None and stop.load_again is not None and before is not None and before.last_of_day:
            promise = "nothing is carried on from a last-of-day site"
            yield broken(stop_of(itinerary, stop), promise, "the way home or such a site", f"base after {before.site}")


def returns_are_needed(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where base is come back to though one load is enough for the day."""
    visits = [[ground.jobs[job.id] for job in stop.jobs] for stop in itinerary.at_sites if stop.set_down is None]
    vehicle = ground.vehicle(ground.crews[itinerary.crew])
    if len(itinerary.loads) > 1 and all(carries(vehicle, trip) for trip in points([visits], ground)):
        yield broken(day_of(itinerary), "base is come back to only where one load is not enough", "1 trip", "more")


def returns_are_told_right(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the facts of a stop at base are not the farm's."""
    base, crew = ground.farm.base, ground.crews[itinerary.crew]
    opens = ground.earliest_start(crew, itinerary.date) + ground.loading_seconds()
    closes = ground.home_by(crew, itinerary.date)
    for stop in itinerary.stops:
        if stop.load_again is None:
            continue
        where = stop_of(itinerary, stop)
        yield from same(where, "the base's name is right", base.name, stop.name)
        yield from same(where, "the base's latitude is right", base.place.latitude, stop.latitude)
        yield from same(where, "the base's longitude is right", base.place.longitude, stop.longitude)
        yield from same(where, "nothing is walked at base", 0, stop.walking_minutes)
        yield from same(where, "base has no notes", "", stop.notes)
        yield from same(where, "base has no stopping place of its own", None, stop.stopping_place)
        yield from same(where, "base is not last of the day", expected=False, found=stop.last_of_day)
        for name, expected, shown in (
            ("opens", opens, instant(stop.window_opens)),
            ("closes", closes, instant(stop.window_closes)),
        ):
            expected_words, found = clock(expected, ground.zone), clock(shown, ground.zone)
            yield from same(where, f"base {name} with the crew's day", expected_words, found)
