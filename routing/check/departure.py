"""Departure: away for no longer than the stops need, and base left as late as costs nothing."""

from __future__ import annotations

from collections.abc import Iterator

from routing.check.days import best_day, elsewhere_than_suspect
from routing.check.exact import clock, instant
from routing.check.ground import Ground
from routing.check.sentences import broken, day_of, stop_of
from routing.check.shown import plan_as_shown
from routing.round import Itinerary


def base_is_left_late(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where another departure or another place for the break makes a better day of the same stops and returns.

    Better is less time away; then leaving later. The windows are taken as shown.
    """
    plan = plan_as_shown(itinerary, ground)
    if plan is None:
        return  # told where the drives are held against the legs
    where, best = day_of(itinerary), best_day(plan)
    if best is None:
        yield broken(where, "some departure keeps windows, breaks and home-by", "a departure", "none")
        return
    if best.home != instant(itinerary.home):
        expected, shown = clock(best.home, ground.zone), clock(instant(itinerary.home), ground.zone)
        yield broken(where, "home is that of the least time away that this order allows", expected, shown)
    if best.leave != instant(itinerary.leave):
        expected, shown = clock(best.leave, ground.zone), clock(instant(itinerary.leave), ground.zone)
        yield broken(where, "base is left as late as costs nothing", expected, shown)


def no_needless_rest_at_suspect_sites(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each break at a site marked last of the day though the same stops allow one elsewhere."""
    hosts = [stop for stop in itinerary.at_sites if stop.rest is not None and ground.sites[stop.site].last_of_day]
    plan = plan_as_shown(itinerary, ground) if hosts else None
    if plan is not None and elsewhere_than_suspect(plan):
        for stop in hosts:
            promise = "no break is taken at a last-of-day site where one elsewhere is possible"
            yield broken(stop_of(itinerary, stop), promise, "a break elsewhere", "a break here")
