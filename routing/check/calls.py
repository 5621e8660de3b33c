"""Call-ins: someone who works alone is never unheard of for longer than the rule says."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor

from routing.check.exact import clock, exact, instant
from routing.check.ground import Ground
from routing.check.rests import left_at
from routing.check.sentences import broken, day_of, same
from routing.round import Itinerary


def calls_are_frequent(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where a lone worker's call-ins are too far apart, out of order or missing, or a larger crew has any.

    A rule of 0 minutes asks for the two fixed calls only; where both are on the same second they are one.
    """
    where, times = day_of(itinerary), [instant(call.by) for call in itinerary.call_ins]
    if ground.crews[itinerary.crew].people > 1:
        yield from same(where, "only a lone worker has call-ins", 0, len(times))
        return
    longest = exact(ground.farm.rules.call_in_minutes.value) * 60
    home, last_finish = instant(itinerary.home), instant(itinerary.stops[-1].finish)
    before = instant(itinerary.leave)
    for number, by in enumerate(times):
        found = f"{clock(before, ground.zone)} and then {clock(by, ground.zone)}"
        if longest and by - before > longest:
            yield broken(where, "calls are never further apart than the rule", f"{float(longest):g} s or less", found)
        if by < before or (by == before and (number or by != last_finish)):
            yield broken(where, "calls come one after another", "a later time", found)
        before = by
    musts = {"on finishing the last stop": last_finish, "on coming home": home}
    for when, due in musts.items():
        if due not in times:
            shown = ", ".join(clock(by, ground.zone) for by in times) or "no calls"
            yield broken(where, f"a lone worker calls {when}", clock(due, ground.zone), shown)
    if times and times[-1] > home:
        expected, found = clock(home, ground.zone), clock(times[-1], ground.zone)
        yield broken(where, "the last call is on coming home", expected, found)
    yield from _calls_are_few(itinerary, longest, ground)


def _calls_are_few(itinerary: Itinerary, longest: Fraction, ground: Ground) -> Iterator[str]:
    """Yield where calls between leaving, the last finish and home are more than are needed, or are spread unevenly."""
    times, where = [instant(call.by) for call in itinerary.call_ins], day_of(itinerary)
    moments = (instant(itinerary.leave), instant(itinerary.stops[-1].finish), instant(itinerary.home))
    for begins, ends in pairwise(moments):
        between = [by for by in times if begins < by < ends]
        needed = max(0, ceil(Fraction(ends - begins) / floor(longest)) - 1) if longest >= 1 else 0
        yield from same(where, "no more calls are asked for than the rule needs", needed, len(between))
        even = [begins + floor(Fraction(ends - begins, needed + 1) * number) for number in range(1, needed + 1)]
        for due, by in zip(even, between, strict=False):
            if len(between) == needed and due != by:
                found = clock(by, ground.zone)
                yield broken(where, "calls between are spread evenly", clock(due, ground.zone), found)


def calls_say_where(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each call-in that does not name the place where the crew is by then, or is on the way from or to."""
    for call in itinerary.call_ins:
        names = _places_at(itinerary, instant(call.by), ground)
        if not any(name in call.where for name in names):
            where = f"{day_of(itinerary)}, call-in by {clock(instant(call.by), ground.zone)}"
            yield broken(where, "the call-in says where the crew is", " or ".join(sorted(names)), call.where)


def with_right_places(itinerary: Itinerary, ground: Ground) -> Itinerary:
    """Return the day with the place of each call put right where it was wrong."""
    told = []
    for call in itinerary.call_ins:
        names = _places_at(itinerary, instant(call.by), ground)
        right = any(name in call.where for name in names)
        words = " or ".join(sorted(name for name in names if name not in {*ground.sites, "base", "home"}))
        told.append(call if right else call.model_copy(update={"where": words or ground.farm.base.name}))
    return itinerary.model_copy(update={"call_ins": tuple(told)})


def _places_at(itinerary: Itinerary, moment: int, ground: Ground) -> set[str]:
    """Return the words that may stand for where the crew is: its place, or both ends of the drive."""
    base = {ground.farm.base.name, "base", "home"}
    came_from = base
    for stop in itinerary.stops:
        here = base if stop.load_again is not None else {stop.site, ground.sites[stop.site].name}
        if moment < instant(stop.arrive):
            return came_from | here
        if moment <= left_at(stop):
            return here | (base if moment >= instant(itinerary.home) else set())
        came_from = here
    return base if moment >= instant(itinerary.home) else came_from | base
