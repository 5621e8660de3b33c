"""Departure: home as early as the order allows, and base left as late as costs nothing."""

from __future__ import annotations

from collections.abc import Iterator

from routing.check.days import best_departure, possible_breaks
from routing.check.exact import clock, instant
from routing.check.ground import Ground
from routing.check.outings import call_of, day_plan, loading_call
from routing.check.sentences import broken, day_of
from routing.round import Itinerary


def base_is_left_late(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where another departure gives an earlier home, or a later one the same home.

    The stops, their order and their windows are taken as shown; the break may be at any stop where one is due.
    """
    crew = ground.crews[itinerary.crew]
    calls = [
        loading_call(crew, itinerary.date, ground)
        if stop.load_again is not None
        else call_of(
            [ground.jobs[job.id] for job in stop.jobs],
            crew,
            ((instant(stop.window_opens), instant(stop.window_closes)),),
            ground,
        )
        for stop in itinerary.stops
        if stop.set_down is None
    ]
    plan = day_plan(crew, itinerary.date, calls, ground)
    if plan is None:
        return  # told where the drives are held against the legs
    where = day_of(itinerary)
    found = [best for rest_at in possible_breaks(plan) if (best := best_departure(plan, rest_at)) is not None]
    if not found:
        yield broken(where, "some departure keeps windows, breaks and home-by", "a departure", "none")
        return
    home = min(departure.home for departure in found)
    leave = max(departure.leave for departure in found if departure.home == home)
    if home != instant(itinerary.home):
        expected, shown = clock(home, ground.zone), clock(instant(itinerary.home), ground.zone)
        yield broken(where, "home is the earliest that this order allows", expected, shown)
    if leave != instant(itinerary.leave):
        expected, shown = clock(leave, ground.zone), clock(instant(itinerary.leave), ground.zone)
        yield broken(where, "base is left as late as costs nothing", expected, shown)
