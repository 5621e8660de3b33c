"""Breaks: taken exactly where the day is long, whole, and inside one stop."""

from __future__ import annotations

from collections.abc import Iterator

from routing.check.exact import clock, exact, instant
from routing.check.ground import Ground
from routing.check.sentences import broken, day_of, same, stop_of
from routing.round import Itinerary


def break_where_the_day_is_long(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where a long day has not exactly one break, or a short one has any."""
    crew = ground.crews[itinerary.crew]
    rests = [stop.rest for stop in itinerary.stops if stop.rest is not None]
    away = instant(itinerary.home) - instant(itinerary.leave)
    due = crew.break_minutes > 0 and away > exact(crew.break_after_hours) * 3600
    promise = f"one break where the day is longer than {crew.break_after_hours:g} h, else none"
    yield from same(f"{day_of(itinerary)}, {away} s away", promise, int(due), len(rests))


def breaks_are_whole(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each break that is too short or long, or not between the start and finish of its stop."""
    seconds = ground.break_seconds(ground.crews[itinerary.crew])
    for stop in itinerary.stops:
        if stop.rest is None:
            continue
        where = stop_of(itinerary, stop)
        yield from same(where, "the break is as long as the crew's", seconds, stop.rest.seconds)
        begins = instant(stop.rest.start)
        ends = begins + stop.rest.seconds
        if begins < instant(stop.start) or ends > instant(stop.finish):
            inside = f"{clock(instant(stop.start), ground.zone)} to {clock(instant(stop.finish), ground.zone)}"
            found = f"{clock(begins, ground.zone)} to {clock(ends, ground.zone)}"
            yield broken(where, "the break lies inside its stop", inside, found)
