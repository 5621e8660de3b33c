"""A crew's day as it is shown, taken back to what bounds it: its stops in order, each with the window that it names."""

from __future__ import annotations

from routing.check.days import DayPlan
from routing.check.exact import instant
from routing.check.ground import Ground
from routing.check.outings import call_of, day_plan, loading_call
from routing.round import Itinerary


def plan_as_shown(itinerary: Itinerary, ground: Ground) -> DayPlan | None:
    """Return what bounds the day for its stops, returns and windows, None where there is no way between two places."""
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
    return day_plan(crew, itinerary.date, calls, ground)
