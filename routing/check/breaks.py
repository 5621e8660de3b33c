"""Breaks: where the day is long, whole, before a stop's work or after it, and told where a second is due."""

from __future__ import annotations

from collections.abc import Iterator

from routing.check.days import needs_break
from routing.check.exact import clock, exact, instant
from routing.check.ground import Ground
from routing.check.rests import before_work, rest_end
from routing.check.sentences import broken, day_of, same, stop_of
from routing.check.shown import plan_as_shown
from routing.plain_words import duration
from routing.round import Itinerary


def break_where_the_day_is_long(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where a day that is long even without a break has not exactly one, or a shorter one has any.

    Of a day that no departure makes possible nothing is said here: that is told with the departure.
    """
    crew, plan = ground.crews[itinerary.crew], plan_as_shown(itinerary, ground)
    due = None if plan is None else needs_break(plan)
    if due is None:
        return
    rests = [stop.rest for stop in itinerary.stops if stop.rest is not None]
    promise = f"one break where the day is longer than {crew.break_after_hours:g} h, else none"
    yield from same(day_of(itinerary), promise, int(due), len(rests))


def breaks_are_whole(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each break that is too short or long, or does not lie where it may at its stop.

    After the work it begins as that is finished. Before it, it begins on arrival or ends as the work starts.
    """
    seconds = ground.break_seconds(ground.crews[itinerary.crew])
    for stop in itinerary.stops:
        if stop.rest is None:
            continue
        where = stop_of(itinerary, stop)
        yield from same(where, "the break is as long as the crew's", seconds, stop.rest.seconds)
        begins, latest = instant(stop.rest.start), instant(stop.start) - stop.rest.seconds
        may = {instant(stop.finish)}
        if before_work(stop):
            may = {moment for moment in (instant(stop.arrive), latest) if instant(stop.arrive) <= moment <= latest}
        if begins not in may:
            expected = " or ".join(clock(moment, ground.zone) for moment in sorted(may)) or "no room before the work"
            promise = "the break lies right before the stop's work or right after it"
            yield broken(where, promise, expected, clock(begins, ground.zone))


def breaks_come_in_time(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each break that begins too late in the day, or after the last work."""
    leave, hours = instant(itinerary.leave), exact(ground.crews[itinerary.crew].break_after_hours)
    for place, stop in enumerate(itinerary.stops):
        if stop.rest is None:
            continue
        where, begins = stop_of(itinerary, stop), instant(stop.rest.start)
        latest = leave + int(hours * 3600)
        if place == 0 and before_work(stop):
            latest = max(latest, instant(stop.arrive))
        if begins > latest:
            expected, found = f"{clock(latest, ground.zone)} or earlier", clock(begins, ground.zone)
            yield broken(where, f"the break begins within {float(hours):g} h of leaving base", expected, found)
        if stop is itinerary.stops[-1] and not before_work(stop):
            yield broken(where, "no break comes after the last work", "before it", clock(begins, ground.zone))


def second_breaks_are_told(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the caution that a second break is due is missing, does not say so, or is given without need."""
    where, found, words = day_of(itinerary), itinerary.cautions, _second_break(itinerary, ground)
    if not words:
        yield from same(where, "no second break is asked for where none is due", (), found)
    elif len(found) != 1 or not all(word in found[0] for word in words):
        expected = f"1 caution that names {', '.join(words)}"
        yield broken(where, "a second break that is due is told", expected, found or "none")


def with_right_caution(itinerary: Itinerary, ground: Ground) -> Itinerary:
    """Return the day with the caution on a second break exactly where one is due."""
    words = _second_break(itinerary, ground)
    told = (
        ()
        if not words
        else (f"A {words[0]} break is due: after the first it is {words[1]} without another, more than {words[2]}.",)
    )
    return itinerary.model_copy(update={"cautions": told})


def _second_break(itinerary: Itinerary, ground: Ground) -> tuple[str, ...]:
    """Return what a caution on a second break has to name, nothing where none is due."""
    underway = ground.farm.underway  # the crew's hours count from its break, whatever was left of them before it
    hours = (underway and underway.break_after_hours) or ground.crews[itinerary.crew].break_after_hours
    longest = _longest_unrested(itinerary)
    return ("second", duration(longest), f"{hours:g} h") if longest > exact(hours) * 3600 else ()


def _longest_unrested(itinerary: Itinerary) -> int:
    """Return the most seconds after the break that no wait as long as a break parts, 0 where there is no break.

    A break in a wait lasts as long as that.
    """
    rested: int | None = None
    longest = long_enough = 0
    for stop in itinerary.stops:
        if before_work(stop):
            rested, long_enough = instant(stop.start), 0 if stop.rest is None else stop.rest.seconds
        elif rested is not None and instant(stop.start) - instant(stop.arrive) >= long_enough:
            longest, rested = max(longest, instant(stop.arrive) - rested), instant(stop.start)
        if stop.rest is not None and not before_work(stop):
            rested, long_enough = rest_end(stop), stop.rest.seconds
    return 0 if rested is None else max(longest, instant(itinerary.home) - rested)
