"""Times of a day: each follows from the one before, to the second."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from routing.check.exact import clock, instant
from routing.check.ground import Ground
from routing.check.moves import stop_seconds
from routing.check.rests import left_at, ready
from routing.check.sentences import broken, day_of, same, stop_of
from routing.round import Itinerary


def _at(where: str, promise: str, expected: int, found: dt.datetime, ground: Ground) -> Iterator[str]:
    if expected != instant(found):
        yield broken(where, promise, clock(expected, ground.zone), clock(instant(found), ground.zone))


def times_are_local(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each time that is not a whole second or does not stand in the farm's time zone."""
    day = day_of(itinerary)
    moments = [
        (day, "load_from", itinerary.load_from),
        (day, "leave", itinerary.leave),
        (day, "home", itinerary.home),
        (day, "home_by", itinerary.home_by),
        *((f"{day}, call-in {call.where}", "by", call.by) for call in itinerary.call_ins),
    ]
    for stop in itinerary.stops:
        names = ("arrive", "start", "finish", "window_opens", "window_closes")
        moments += [(stop_of(itinerary, stop), name, getattr(stop, name)) for name in names]
        moments += [(stop_of(itinerary, stop), "rest.start", rest.start) for rest in (stop.rest,) if rest is not None]
    for where, name, moment in moments:
        yield from same(where, f"{name} is a whole second, parts", 0, moment.microsecond)
        local = moment.astimezone(ground.zone)
        yield from same(where, f"{name} stands in the farm's time zone", local.utcoffset(), moment.utcoffset())


def loading_comes_first(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where loading begins before the crew may, or leaving does not follow loading."""
    where, crew = day_of(itinerary), ground.crews[itinerary.crew]
    leave = instant(itinerary.load_from) + ground.loading_seconds()
    yield from _at(where, "leaving follows the loading", leave, itinerary.leave, ground)
    earliest = ground.earliest_start(crew, itinerary.date)
    if instant(itinerary.load_from) < earliest:
        expected, found = clock(earliest, ground.zone), clock(instant(itinerary.load_from), ground.zone)
        yield broken(where, "loading never begins before the earliest start", f"{expected} or later", found)


def times_follow(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where an arrival, start, finish or the coming home does not follow from what is before it."""
    crew, free_from = ground.crews[itinerary.crew], instant(itinerary.leave)
    for stop in itinerary.stops:
        where = stop_of(itinerary, stop)
        arrive = free_from + stop.drive.seconds
        yield from _at(where, "arrival is the leaving before plus the drive", arrive, stop.arrive, ground)
        start = max(ready(stop), instant(stop.window_opens))
        promise = "work starts on arrival, after a break before it, or when the window opens"
        yield from _at(where, promise, start, stop.start, ground)
        finish = instant(stop.start) + stop_seconds(stop, crew, ground)
        yield from _at(where, "finish is the start plus the work", finish, stop.finish, ground)
        free_from = left_at(stop)
    home = free_from + itinerary.drive_home.seconds
    yield from _at(day_of(itinerary), "home is the last finish plus the drive", home, itinerary.home, ground)


def home_in_time(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the time to be home by is not the crew's, or is missed."""
    where = day_of(itinerary)
    home_by = ground.home_by(ground.crews[itinerary.crew], itinerary.date)
    yield from _at(where, "home_by is the crew's", home_by, itinerary.home_by, ground)
    if instant(itinerary.home) > home_by:
        expected, found = clock(home_by, ground.zone), clock(instant(itinerary.home), ground.zone)
        yield broken(where, "the crew is home in time", f"{expected} or earlier", found)


def sums_are_right(itinerary: Itinerary, _ground: Ground) -> Iterator[str]:
    """Yield where the time away, the driving or the distance is not the sum of its parts."""
    where = day_of(itinerary)
    drives = (*(stop.drive for stop in itinerary.stops), itinerary.drive_home)
    away = instant(itinerary.home) - instant(itinerary.leave)
    yield from same(where, "away_seconds is home less leave", away, itinerary.away_seconds)
    driven = sum(drive.seconds for drive in drives)
    yield from same(where, "drive_seconds is the sum of the drives", driven, itinerary.drive_seconds)
    metres = sum(drive.metres for drive in drives)
    yield from same(where, "distance_metres is the sum of the drives", metres, itinerary.distance_metres)
