"""Clock times of an order: of all places for the break and all returns to base, those of the least time away.

Engines choose only which stops and in which order; every second after that is decided here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from routing.planning.model.problem import NO_LIMIT, Order, Problem, Route
from routing.planning.model.returns import least_away_returns
from routing.planning.model.tour_days import PossibleDay, Tour, possible_days, tours_of


@dataclass(frozen=True)
class Return:
    """The crew is back at base in the middle of its day, to load again."""

    before: int
    """Index of the stop that follows."""
    arrive: int
    start: int
    """Of loading; a break may come before it."""
    finish: int


@dataclass(frozen=True)
class Rest:
    """The break."""

    start: int
    seconds: int
    stop: int | None
    """Index of the stop at which it is taken: before its work where that starts later, else after it."""
    back: int | None = None
    """Index of the return to base at which it is taken, in place of a stop."""


@dataclass(frozen=True)
class Timeline:
    """The seconds of one route, counted from the round's first local midnight."""

    leave: int
    arrives: tuple[int, ...]
    starts: tuple[int, ...]
    """Of the work."""
    finishes: tuple[int, ...]
    """Of the work; a break after it comes on top."""
    home: int
    rest: Rest | None
    metres: int
    returns: tuple[Return, ...] = ()
    """In order, each before another stop."""

    @property
    def away(self) -> int:
        """Seconds from leaving base to being back."""
        return self.home - self.leave


def timeline(problem: Problem, route: int, order: Order) -> Timeline | None:
    """Return the times of `order`, or None where a window, the way, home-by or the longest away cannot be kept.

    The order must not be empty. A break is taken where the day without it is longer than the crew's rule allows; where
    one load is not enough, base is come back to. Of all gaps for the break and all returns those of the least time
    away are taken, then of the shorter way, the later departure, the fewer returns; then a gap after which no second
    break is due, then the one nearest the middle of the day.
    """
    rules = problem.routes[route]
    found: list[tuple[tuple[int, ...], Timeline]] = []
    for tour in _tours(problem, route, order):
        found += [
            ((day.away, tour.metres, -day.leave, len(tour.backs)), _told(rules, tour, day))
            for day in possible_days(rules, tour)
        ]
    if not found:
        return None
    clean = [each for each in found if not _at_suspect(problem, order, each[1])]
    found = clean or found
    best = min(key for key, _ in found)
    times = min((times for key, times in found if key == best), key=lambda times: _uneven(rules, times))
    return None if NO_LIMIT < rules.most_away < times.away else times


NO_DAY = (1 << 60, 0)
"""Longer away than any day."""


def least_away(problem: Problem, route: int, order: Order) -> tuple[int, int] | None:
    """Return the seconds away and the metres of `timeline`, None where that is None; quicker, without all the times."""
    rules = problem.routes[route]
    best = {False: NO_DAY, True: NO_DAY}
    for tour in _tours(problem, route, order):
        for day in possible_days(rules, tour):
            at_suspect = day.gap is not None and tour.suspect[max(0, day.gap - 1)]
            best[at_suspect] = min(best[at_suspect], (day.away, tour.metres))
    least = best[True] if best[False] == NO_DAY else best[False]
    return None if least == NO_DAY or NO_LIMIT < rules.most_away < least[0] else least


def _tours(problem: Problem, route: int, order: Order) -> Iterator[Tour]:
    """Yield what an order takes with each of the returns to base that may be best."""
    chosen: Sequence[tuple[int, ...]] = ((),)
    if problem.returns[route]:
        chosen = least_away_returns(problem, route, order)
    yield from tours_of(problem, route, order, chosen)


def _told(rules: Route, tour: Tour, day: PossibleDay) -> Timeline:
    """Return the times of a day, second by second, with the break at its place in the gap."""
    arrives: list[int] = []
    starts: list[int] = []
    finishes: list[int] = []
    returns: list[Return] = []
    rest = None
    clock = day.leave
    for stop, (leg, duration, opens) in enumerate(zip(tour.legs, tour.durations, tour.opens, strict=False)):
        back = tour.backs.get(stop)
        before = (clock, clock + leg if back is None else clock + back)
        ready, at = clock + leg, None
        if day.gap == stop:
            begin, at = _begin(rules, tour, day, before)
            rest = Rest(begin, rules.break_seconds, stop - (at == _BEFORE), len(returns) if at == _BASE else None)
            rest = replace(rest, stop=None) if at == _BASE else rest
            ready += rules.break_seconds
        if back is not None:
            here = before[1] + (rules.break_seconds if at == _BEFORE else 0)
            start = here + (rules.break_seconds if at == _BASE else 0)
            returns.append(Return(stop, here, start, start + rules.reload_seconds))
        arrives.append(ready - (rules.break_seconds if at == _HERE else 0))
        starts.append(max(ready, opens))
        clock = starts[-1] + duration
        finishes.append(clock)
    home = clock + tour.legs[-1]
    return Timeline(day.leave, tuple(arrives), tuple(starts), tuple(finishes), home, rest, tour.metres, tuple(returns))


_BEFORE, _BASE, _HERE = range(3)
"""Where in its gap the break is: at the stop before after its work, at base, or at the stop that follows."""


def _begin(rules: Route, tour: Tour, day: PossibleDay, moments: tuple[int, int]) -> tuple[int, int]:
    """Return when the break begins and where: at base if that is come back to, else nearest the middle of the day.

    `moments` are when the stop before is finished, and when base or the stop that follows is reached without a break.
    """
    gap = day.gap or 0
    finished, reached = moments
    if gap == 0:
        return reached, _HERE
    if reached > day.leave + rules.break_after_seconds:
        return finished, _BEFORE
    if gap in tour.backs:
        return reached, _BASE
    if tour.suspect[gap] and not tour.suspect[gap - 1]:
        return finished, _BEFORE
    middle = day.leave + (day.away - rules.break_seconds) // 2
    return min(((finished, _BEFORE), (reached, _HERE)), key=lambda place: abs(place[0] - middle))


def _at_suspect(problem: Problem, order: Order, times: Timeline) -> bool:
    """Return whether the break is at a site that is last of the day."""
    stop = None if times.rest is None else times.rest.stop
    return stop is not None and problem.visits[order[stop].visit].last_of_day


def _uneven(rules: Route, times: Timeline) -> tuple[bool, int]:
    """Return whether a second break is due after the break, and how far that is from the middle of the day."""
    if times.rest is None:
        return False, 0
    end = times.rest.start + times.rest.seconds
    return second_break_due(rules, times), abs(times.rest.start + end - times.leave - times.home)


def second_break_due(rules: Route, times: Timeline) -> bool:
    """Return whether after the break it is longer to home, or to a wait that is as long, than the rule allows."""
    return longest_after_break(rules, times) > rules.break_after_seconds


def longest_after_break(rules: Route, times: Timeline) -> int:
    """Return the longest that the crew is on the way after its break without another wait that is as long as one.

    Zero where there is no break. A break before work that is waited for lasts until the work starts.
    """
    if times.rest is None:
        return 0
    rested, longest = times.rest.start + times.rest.seconds, 0
    for arrive, start in zip(times.arrives, times.starts, strict=True):
        if arrive <= times.rest.start < start:
            rested = start
        elif arrive >= rested and start - arrive >= rules.break_seconds:
            longest, rested = max(longest, arrive - rested), start
    return max(longest, times.home - rested)
