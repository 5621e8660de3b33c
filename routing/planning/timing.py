"""Clock times of an order: earliest home, then the latest departure that still gives it.

Engines choose only which stops and in which order; every second after that is decided here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from routing.planning.problem import NO_LIMIT, Order, Problem, Route
from routing.planning.returns import soonest_returns


@dataclass(frozen=True)
class Return:
    """The crew is back at base in the middle of its day, to load again."""

    before: int
    """Index of the stop that follows."""
    arrive: int
    finish: int
    """A break taken there comes before it."""


@dataclass(frozen=True)
class Timeline:
    """The seconds of one route, counted from the round's first local midnight."""

    leave: int
    arrives: tuple[int, ...]
    starts: tuple[int, ...]
    finishes: tuple[int, ...]
    """A break lengthens the stop that hosts it."""
    home: int
    break_at: int | None
    """Index of the stop that hosts the break; None also where it is taken at base."""
    metres: int
    returns: tuple[Return, ...] = ()
    """In order, each before another stop."""
    break_return: int | None = None
    """Index of the return to base at which the break is taken."""

    @property
    def away(self) -> int:
        """Seconds from leaving base to being back."""
        return self.home - self.leave


def timeline(problem: Problem, route: int, order: Order) -> Timeline | None:
    """Return the times of `order`, or None where a window, the way, home-by or the longest away cannot be kept.

    The order must not be empty. A break is placed only where the day is longer than the crew's rule allows without;
    of the stops that can host it, the one giving the earliest home, then the latest departure, then nearest the middle
    of the day, is taken. Where the route may come back to base to load again, and one load is not enough,
    those returns are made that give the earliest home, then the fewest; a break may be taken there too.
    """
    if problem.returns[route]:
        return _timeline_with_returns(problem, route, order)
    way = _drives(problem, route, order)
    if way is None:
        return None
    rules, trip = problem.routes[route], _trip(problem, route, order, way)
    return _timeline(rules, trip, _times(rules, trip, None))


def _trip(problem: Problem, route: int, order: Order, way: tuple[list[int], int]) -> _Trip:
    visits = [problem.visits[planned.visit] for planned in order]
    return _Trip(
        legs=way[0],
        metres=way[1],
        durations=[problem.on_site_seconds(route, planned) for planned in order],
        opens=[visit.opens for visit in visits],
        closes=[visit.closes for visit in visits],
    )


def _timeline(rules: Route, trip: _Trip, plain: Timeline | None) -> Timeline | None:
    """Return the times with the break where it is due; `plain` are those without."""
    times = _with_break(rules, trip, plain) if plain is not None and _is_due(rules, plain) else plain
    return None if times is not None and NO_LIMIT < rules.most_away < times.away else times


def _is_due(rules: Route, plain: Timeline) -> bool:
    return rules.break_seconds > 0 and plain.away > rules.break_after_seconds


@dataclass(frozen=True)
class _Trip:
    """What an order takes: legs in seconds, shape (stops + 1,); on-site seconds and windows, shape (stops,)."""

    legs: list[int]
    metres: int
    durations: list[int]
    opens: list[int]
    closes: list[int]


def _with_break(rules: Route, trip: _Trip, plain: Timeline) -> Timeline | None:
    middles = [abs(s + f - plain.leave - plain.home) for s, f in zip(plain.starts, plain.finishes, strict=True)]
    begins = max(trip.opens[0], rules.earliest_leave + trip.legs[0])
    tight = plain.starts[0] == begins and plain.starts[1:] == plain.arrives[1:]
    if tight and max(plain.finishes[-1] - trip.closes[-1], plain.home - rules.home_by) + rules.break_seconds > 0:
        return None  # wherever it is taken, the last stop finishes later by all of it
    homes = [_home_with_break(rules, trip, host) for host in range(len(trip.durations))]
    soonest = min((home for home in homes if home is not None), default=None)
    best: tuple[tuple[int, int], Timeline] | None = None
    for host in sorted((host for host, home in enumerate(homes) if home == soonest), key=middles.__getitem__):
        times = None if soonest is None else _times(rules, trip, host)
        if times is None:
            continue
        if times.leave == plain.leave or (tight and times.away == plain.away + rules.break_seconds):
            return times  # base cannot be left later than without a break, nor the day be shorter than with it
        measure = (-times.leave, middles[host])
        if best is None or measure < best[0]:
            best = (measure, times)
    return best[1] if best else None


def _home_with_break(rules: Route, trip: _Trip, host: int) -> int | None:
    """Return the earliest home with the break at one stop, or None where something cannot be kept."""
    clock = rules.earliest_leave
    for stop, leg in enumerate(trip.legs[:-1]):
        clock = max(clock + leg, trip.opens[stop]) + trip.durations[stop]
        if stop == host:
            clock += rules.break_seconds
        if clock > trip.closes[stop]:
            return None
    home = clock + trip.legs[-1]
    return home if home <= rules.home_by else None


def _drives(problem: Problem, route: int, order: Order) -> tuple[list[int], int] | None:
    """Return the seconds of every leg (base to base) and the metres in all, or None where there is no way."""
    all_seconds, all_metres = problem.legs[route]
    seconds, metres = [], 0
    here = 0
    for there in (*(problem.visits[planned.visit].place for planned in order), 0):
        leg = all_seconds[here][there]
        if leg < 0:
            return None
        seconds.append(leg)
        metres += all_metres[here][there]
        here = there
    return seconds, metres


def _times(rules: Route, trip: _Trip, host: int | None) -> Timeline | None:
    legs, opens, closes = trip.legs, trip.opens, trip.closes
    durations = trip.durations
    if host is not None:
        durations = durations.copy()
        durations[host] += rules.break_seconds
    stops = range(len(durations))

    clock = rules.earliest_leave
    for stop in stops:
        clock = max(clock + legs[stop], opens[stop]) + durations[stop]
        if clock > closes[stop]:
            return None
    home = clock + legs[-1]
    if home > rules.home_by:
        return None

    latest = home
    for stop in reversed(stops):
        latest = min(latest - legs[stop + 1], closes[stop]) - durations[stop]
    leave = latest - legs[0]

    arrives, starts, finishes = [], [], []
    clock = leave
    for stop in stops:
        arrive = clock + legs[stop]
        start = max(arrive, opens[stop])
        clock = start + durations[stop]
        arrives.append(arrive)
        starts.append(start)
        finishes.append(clock)
    return Timeline(leave, tuple(arrives), tuple(starts), tuple(finishes), home, host, trip.metres)


def _timeline_with_returns(problem: Problem, route: int, order: Order) -> Timeline | None:
    rules = problem.routes[route]
    day = _soonest_day(problem, route, order, rested=True)
    if day is not None and _is_due(rules, day[2]):  # with the break other returns may be better
        day = _soonest_day(problem, route, order, rested=False)
    if day is None:
        return None
    returns, trip, plain = day
    times = _timeline(rules, trip, plain)
    return None if times is None else _folded(times, returns)


def _soonest_day(
    problem: Problem, route: int, order: Order, *, rested: bool
) -> tuple[tuple[int, ...], _Trip, Timeline] | None:
    """Return the returns that bring home soonest, what the order takes with them, and its times without a break."""
    returns = soonest_returns(problem, route, order, rested=rested)
    trip = None if returns is None else _with_returns(problem, route, order, returns)
    plain = None if trip is None else _times(problem.routes[route], trip, None)
    return None if returns is None or trip is None or plain is None else (returns, trip, plain)


def _with_returns(problem: Problem, route: int, order: Order, returns: Sequence[int]) -> _Trip | None:
    """Return what an order takes with the returns to base as stops of their own, None where there is no way."""
    rules = problem.routes[route]
    seconds, metres = problem.legs[route]
    places = [problem.visits[planned.visit].place for planned in order]
    plain = _trip(problem, route, order, ([], 0))
    for before in reversed(returns):
        places.insert(before, 0)
        plain.durations.insert(before, rules.reload_seconds)
        plain.opens.insert(before, rules.earliest_leave)
        plain.closes.insert(before, rules.home_by)
    ways = list(pairwise((0, *places, 0)))
    legs = [seconds[here][there] for here, there in ways]
    if min(legs) < 0:
        return None
    return replace(plain, legs=legs, metres=sum(metres[here][there] for here, there in ways))


def _folded(times: Timeline, returns: Sequence[int]) -> Timeline:
    """Return the times with the returns to base told apart from the stops."""
    at_base = [before + number for number, before in enumerate(returns)]

    def stops(moments: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(moment for number, moment in enumerate(moments) if number not in at_base)

    host = times.break_at
    return replace(
        times,
        arrives=stops(times.arrives),
        starts=stops(times.starts),
        finishes=stops(times.finishes),
        break_at=None if host is None or host in at_base else host - sum(number < host for number in at_base),
        returns=tuple(
            Return(before, times.arrives[number], times.finishes[number])
            for before, number in zip(returns, at_base, strict=True)
        ),
        break_return=at_base.index(host) if host in at_base else None,
    )


def seconds_without_waits(problem: Problem, route: int, order: Order) -> int | None:
    """Return what an order takes by the hour, windows and waits left out; None where there is no way."""
    trip = _hurried(problem, route, order)[0]
    return None if trip is None else sum(trip.legs) + sum(trip.durations)


def _hurried(problem: Problem, route: int, order: Order) -> tuple[_Trip | None, tuple[int, ...]]:
    """Return what an order takes with the returns that bring it home soonest whatever is missed, and those returns."""
    found = soonest_returns(problem, route, order, rested=True, in_time=False) if problem.returns[route] else None
    return _with_returns(problem, route, order, found or ()), found or ()


@dataclass(frozen=True)
class Lateness:
    """By how many seconds an order breaks its day when it is driven as early as it can be."""

    light: int
    hours: int
    home: int

    @property
    def total(self) -> int:
        """The sum, for choosing the least."""
        return self.light + self.hours + self.home


def lateness(problem: Problem, route: int, order: Order) -> Lateness | None:
    """Return how late an order would be at its windows and at home, zero where it fits; None where there is no way."""
    if timeline(problem, route, order) is not None:
        return Lateness(0, 0, 0)
    rules = problem.routes[route]
    trip, returns = _hurried(problem, route, order)
    if trip is None:
        return None
    durations = trip.durations
    longer = sum(trip.legs) + sum(durations) > rules.break_after_seconds and rules.break_seconds > 0
    if longer:
        durations[len(durations) // 2] += rules.break_seconds
    at_base = {before + number for number, before in enumerate(returns)}
    stops = iter(problem.visits[planned.visit] for planned in order)
    clock = rules.earliest_leave
    light = hours = 0
    for number, (leg, duration, opens) in enumerate(zip(trip.legs, durations, trip.opens, strict=False)):
        clock = max(clock + leg, opens) + duration
        if number in at_base:
            continue
        visit = next(stops)
        late = max(0, clock - visit.closes)
        if visit.closed_by_light:
            light = max(light, late)
        else:
            hours = max(hours, late)
    return Lateness(light, hours, max(0, clock + trip.legs[-1] - rules.home_by))
