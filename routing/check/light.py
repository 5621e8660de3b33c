"""Working light and opening hours: all work lies inside one true window of its site."""

from __future__ import annotations

from collections.abc import Iterator

from routing.check.exact import clock, instant
from routing.check.ground import Ground, Span
from routing.check.moves import jobs_of
from routing.check.sentences import broken, same, stop_of
from routing.round import Itinerary


def _said(span: Span, ground: Ground) -> str:
    return f"{clock(span[0], ground.zone)} to {clock(span[1], ground.zone)}"


def windows_are_true(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each stop whose window is none of the site's for its jobs on the date."""
    for stop in itinerary.at_sites:
        spans = ground.visit_spans(jobs_of(stop, ground), itinerary.date)
        shown = (instant(stop.window_opens), instant(stop.window_closes))
        if shown not in spans:
            expected = " or ".join(_said(span, ground) for span in spans) or "no window: the site is closed or dark"
            where = stop_of(itinerary, stop)
            yield broken(where, "the window is the site's working light and hours", expected, _said(shown, ground))


def work_lies_in_the_light(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each stop that starts before its window opens or finishes after it closes."""
    for stop in itinerary.stops:
        where = stop_of(itinerary, stop)
        opens, closes = clock(instant(stop.window_opens), ground.zone), clock(instant(stop.window_closes), ground.zone)
        start, finish = clock(instant(stop.start), ground.zone), clock(instant(stop.finish), ground.zone)
        if instant(stop.start) < instant(stop.window_opens):
            yield broken(where, "no work starts before the window opens", f"{opens} or later", start)
        if instant(stop.finish) > instant(stop.window_closes):
            yield broken(where, "no work ends after the window closes", f"{closes} or earlier", finish)


def light_left_is_right(itinerary: Itinerary, _ground: Ground) -> Iterator[str]:
    """Yield each stop whose light left is not the time from its finish to the window's close."""
    for stop in itinerary.stops:
        left = instant(stop.window_closes) - instant(stop.finish)
        yield from same(stop_of(itinerary, stop), "light left is close less finish", left, stop.light_left_seconds)
