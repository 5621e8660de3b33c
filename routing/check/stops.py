"""Stops and drives: numbered in order, told as the farm has them, joined by the legs as the legs have them."""

from __future__ import annotations

from collections.abc import Iterator

from routing.check.ground import Ground
from routing.check.header import points_of
from routing.check.sentences import broken, day_of, same, stop_of
from routing.round import Itinerary, Stop


def stops_are_numbered(itinerary: Itinerary, _ground: Ground) -> Iterator[str]:
    """Yield each stop whose number is not its place in the order, from 1."""
    for number, stop in enumerate(itinerary.stops, start=1):
        yield from same(stop_of(itinerary, stop), "stops are numbered in order", number, stop.number)


def stops_are_told_right(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where a stop's name, place, walk, notes or last-of-day mark are not the farm's."""
    for stop in itinerary.at_sites:
        where, site = stop_of(itinerary, stop), ground.sites[stop.site]
        yield from same(where, "the site's name is right", site.name, stop.name)
        yield from same(where, "the site's latitude is right", site.place.latitude, stop.latitude)
        yield from same(where, "the site's longitude is right", site.place.longitude, stop.longitude)
        yield from same(where, "the walking minutes are right", site.walking_minutes, stop.walking_minutes)
        yield from same(where, "the site's notes are right", site.notes, stop.notes)
        yield from same(where, "the last-of-day mark is right", site.last_of_day, stop.last_of_day)


def no_visit_twice(itinerary: Itinerary, _ground: Ground) -> Iterator[str]:
    """Yield each site that is visited twice for the same jobs."""
    seen: set[tuple[str, frozenset[str]]] = set()
    for stop in itinerary.at_sites:
        visit = (stop.site, frozenset(job.id for job in stop.jobs) | ({stop.set_down.job} if stop.set_down else set()))
        if visit in seen:
            yield broken(stop_of(itinerary, stop), "no site is visited twice for the same jobs", "1 visit", "another")
        seen.add(visit)


def suspect_sites_come_last(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each healthy site that follows one marked last of the day."""
    suspect: Stop | None = None
    for stop in itinerary.at_sites:
        if ground.sites[stop.site].last_of_day:
            suspect = stop
        elif suspect is not None:
            found = f"after {suspect.site}, which is marked last of day"
            yield broken(stop_of(itinerary, stop), "no other site follows a last-of-day site", "before it", found)


def drives_are_the_legs(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each drive that is not the leg between its two places: no way, seconds, metres or origin."""
    points = points_of(itinerary)
    wheres = (*(stop_of(itinerary, stop) for stop in itinerary.stops), f"{day_of(itinerary)}, the way home")
    drives = (*(stop.drive for stop in itinerary.stops), itinerary.drive_home)
    for where, drive, start, end in zip(wheres, drives, points[:-1], points[1:], strict=True):
        leg = ground.leg(ground.crews[itinerary.crew], start, end)
        if leg is None:
            yield broken(where, "there is a way for every drive", f"a way from {start} to {end}", "none")
            continue
        yield from same(where, f"drive seconds from {start} are the leg's", leg.seconds, drive.seconds)
        yield from same(where, f"drive metres from {start} are the leg's", leg.metres, drive.metres)
        yield from same(where, f"drive origin from {start} is the leg's", leg.origin, drive.origin)
