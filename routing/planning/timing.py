"""Clock times of an order: of all places for the break and all returns to base, those of the least time away.

Engines choose only which stops and in which order; every second after that is decided here.

With the returns and the gap of the break fixed, let `took` be all seconds until a stop is finished, waits left out,
and F its earliest finish. Leaving at L it is finished at max(F, L + took), and L may be at most `latest`, the least of
each stop's closing less its `took`. So the least time away is max(took, F - latest) with the way home on top, and the
latest departure that gives the earliest home is min(latest, F - took). A crew that is out already leaves now: there
`latest` is that moment. A break in a gap delays each later stop by
what the waits since the gap do not take up: all gaps of an order are told from sums that are made once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from math import ceil

from routing.planning.load import overload
from routing.planning.problem import NO_LIMIT, Order, Problem, Route
from routing.planning.returns import least_away_returns, soonest_returns


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
    for trip in _trips(problem, route, order):
        found += [
            ((day.away, trip.metres, -day.leave, len(trip.backs)), _told(rules, trip, day))
            for day in _days(rules, trip)
        ]
    if not found:
        return None
    clean = [each for each in found if not _at_suspect(problem, order, each[1])]
    found = clean or found
    best = min(key for key, _ in found)
    times = min((times for key, times in found if key == best), key=lambda times: _uneven(rules, times))
    return None if NO_LIMIT < rules.most_away < times.away else times


def least_away(problem: Problem, route: int, order: Order) -> tuple[int, int] | None:
    """Return the seconds away and the metres of `timeline`, None where that is None; quicker, without all the times."""
    if problem.returns[route]:
        times = timeline(problem, route, order)
        return None if times is None else (times.away, times.metres)
    rules = problem.routes[route]
    trip = _trip(problem, route, order, ())
    if trip is None:
        return None
    days = list(_days(rules, trip))
    if len(days) > 1:
        days = [day for day in days if not trip.suspect[max(0, (day.gap or 0) - 1)]] or days
    away = min((day.away for day in days), default=None)
    return None if away is None or NO_LIMIT < rules.most_away < away else (away, trip.metres)


def _trips(problem: Problem, route: int, order: Order) -> Iterator[_Trip]:
    """Yield what an order takes with each of the returns to base that may be best."""
    chosen: Sequence[tuple[int, ...]] = ((),)
    if problem.returns[route]:
        chosen = least_away_returns(problem, route, order)
    for returns in chosen:
        trip = _trip(problem, route, order, returns)
        if trip is not None:
            yield trip


@dataclass(frozen=True)
class _Trip:
    """What an order takes: legs in seconds, shape (stops + 1,), by base where it is come back to; the rest (stops,)."""

    legs: list[int]
    metres: int
    durations: list[int]
    opens: list[int]
    closes: list[int]
    suspect: list[bool]
    """Whether each stop is at a site that is last of the day."""
    backs: dict[int, int]
    """By the stop that follows a return, the seconds from the stop before to base."""


def _trip(problem: Problem, route: int, order: Order, returns: Sequence[int]) -> _Trip | None:
    """Return what an order takes with these returns to base, None where there is no way."""
    all_seconds, all_metres = problem.legs[route]
    visits = [problem.visits[planned.visit] for planned in order]
    legs, metres, backs = [], 0, {}
    for number, (here, there) in enumerate(pairwise((0, *(visit.place for visit in visits), 0))):
        way = ((here, 0), (0, there)) if number in returns else ((here, there),)
        parts = [all_seconds[start][end] for start, end in way]
        if min(parts) < 0:
            return None
        if len(parts) > 1:
            backs[number] = parts[0]
            parts.append(problem.routes[route].reload_seconds)
        legs.append(sum(parts))
        metres += sum(all_metres[start][end] for start, end in way)
    return _Trip(
        legs=legs,
        metres=metres,
        durations=[problem.on_site_seconds(route, planned) for planned in order],
        opens=[visit.opens for visit in visits],
        closes=[visit.closes for visit in visits],
        suspect=[visit.last_of_day for visit in visits],
        backs=backs,
    )


@dataclass(frozen=True)
class _Day:
    """One possible day of a trip: the gap of its break (None: none), its departure, and how long it is."""

    gap: int | None
    leave: int
    away: int


@dataclass(frozen=True)
class _Sums:
    """Of a trip without a break that leaves as early as it can; each list has one entry a stop and one for home."""

    took: list[int]
    """Seconds until it is finished, waits left out."""
    finishes: list[int]
    waited: list[int]
    """Seconds waited until then; one entry more, for the beginning."""
    closes: list[int]


def _sums(rules: Route, trip: _Trip) -> _Sums:
    took, finishes, waited = [], [], [0]
    so_far, clock = 0, rules.earliest_leave
    for leg, duration, opens in zip(trip.legs, trip.durations, trip.opens, strict=False):
        wait = max(0, opens - clock - leg)
        clock += leg + wait + duration
        so_far += leg + duration
        took.append(so_far)
        finishes.append(clock)
        waited.append(waited[-1] + wait)
    took.append(so_far + trip.legs[-1])
    finishes.append(clock + trip.legs[-1])
    waited.append(waited[-1])
    return _Sums(took, finishes, waited, [*trip.closes, rules.home_by])


def _days(rules: Route, trip: _Trip) -> Iterator[_Day]:
    """Yield the trip's day without a break, or with the break in each gap that can hold it; nothing where none can."""
    sums = _sums(rules, trip)
    if any(finish > close for finish, close in zip(sums.finishes, sums.closes, strict=True)):
        return
    latest = min(rules.leaves_by, *(close - took for close, took in zip(sums.closes, sums.took, strict=True)))
    plain = _day(None, sums.finishes[-1], sums.took[-1], latest)
    if rules.break_seconds == 0 or plain.away <= rules.break_after_seconds:
        yield plain
        return
    yield from _days_with_break(rules, trip, sums)


def _day(gap: int | None, home: int, took: int, latest: int) -> _Day:
    return _Day(gap, min(latest, home - took), max(took, home - latest))


def _days_with_break(rules: Route, trip: _Trip, sums: _Sums) -> Iterator[_Day]:
    rest, after = rules.break_seconds, rules.break_after_seconds
    spare = [close - took for close, took in zip(sums.closes, sums.took, strict=True)]
    room = [
        close - finish + waited
        for close, finish, waited in zip(sums.closes, sums.finishes, sums.waited[1:], strict=True)
    ]
    spare_before = [spare[0], *accumulate(spare, min)]  # the first entry stands before no stop and is not used
    spare_from = list(accumulate(reversed(spare), min))[::-1]
    room_from = list(accumulate(reversed(room), min))[::-1]
    for gap in range(len(trip.durations)):
        if rest + sums.waited[gap] > room_from[gap]:
            continue  # some stop from there on would finish too late, or the crew be home too late
        latest = min(rules.leaves_by, spare_from[gap] - rest)
        if gap:
            latest = min(latest, spare_before[gap])
            if sums.took[gap - 1] > after or sums.finishes[gap - 1] - latest > after:
                continue
        delay = max(0, rest - (sums.waited[-1] - sums.waited[gap]))
        yield _day(gap, sums.finishes[-1] + delay, sums.took[-1] + rest, latest)


def _told(rules: Route, trip: _Trip, day: _Day) -> Timeline:
    """Return the times of a day, second by second, with the break at its place in the gap."""
    arrives: list[int] = []
    starts: list[int] = []
    finishes: list[int] = []
    returns: list[Return] = []
    rest = None
    clock = day.leave
    for stop, (leg, duration, opens) in enumerate(zip(trip.legs, trip.durations, trip.opens, strict=False)):
        back = trip.backs.get(stop)
        before = (clock, clock + leg if back is None else clock + back)
        ready, at = clock + leg, None
        if day.gap == stop:
            begin, at = _begin(rules, trip, day, before)
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
    home = clock + trip.legs[-1]
    return Timeline(day.leave, tuple(arrives), tuple(starts), tuple(finishes), home, rest, trip.metres, tuple(returns))


_BEFORE, _BASE, _HERE = range(3)
"""Where in its gap the break is: at the stop before after its work, at base, or at the stop that follows."""


def _begin(rules: Route, trip: _Trip, day: _Day, moments: tuple[int, int]) -> tuple[int, int]:
    """Return when the break begins and where: at base if that is come back to, else nearest the middle of the day.

    `moments` are when the stop before is finished, and when base or the stop that follows is reached without a break.
    """
    gap = day.gap or 0
    finished, reached = moments
    if gap == 0:
        return reached, _HERE
    if reached > day.leave + rules.break_after_seconds:
        return finished, _BEFORE
    if gap in trip.backs:
        return reached, _BASE
    if trip.suspect[gap] and not trip.suspect[gap - 1]:
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


def seconds_without_waits(problem: Problem, route: int, order: Order) -> int | None:
    """Return what an order takes by the hour, windows and waits left out; None where there is no way."""
    trip = _hurried(problem, route, order)
    return None if trip is None else sum(trip.legs) + sum(trip.durations)


def _hurried(problem: Problem, route: int, order: Order) -> _Trip | None:
    """Return what an order takes with the returns that bring it home soonest whatever is missed.

    Where its load is too much however often base is come back to, as if payload and space were larger by that.
    """
    returns: tuple[int, ...] = ()
    if problem.returns[route]:
        rules = problem.routes[route]
        grams, millilitres = overload(problem, route, order)
        larger = replace(
            rules,
            payload_grams=rules.payload_grams + ceil(grams),
            space_millilitres=rules.space_millilitres + ceil(millilitres),
        )
        returns = soonest_returns(problem, route, larger, order) or ()
    return _trip(problem, route, order, returns)


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
    """Return how late an order would be at its windows and at home, zero where it fits; None where there is no way.

    Where the day, with all that is missed put off until then, is so long that a break is due, the break is in the gap
    that makes it least late.
    """
    if timeline(problem, route, order) is not None:
        return Lateness(0, 0, 0)
    rules = problem.routes[route]
    trip = _hurried(problem, route, order)
    if trip is None:
        return None
    light = [problem.visits[planned.visit].closed_by_light for planned in order]
    sums = _sums(rules, trip)
    plain = _late(rules, trip, light, sums.finishes)
    closes = [max(close, finish) for close, finish in zip(sums.closes, sums.finishes, strict=True)]
    latest = min(rules.leaves_by, *(close - took for close, took in zip(closes, sums.took, strict=True)))
    away = _day(None, sums.finishes[-1], sums.took[-1], latest).away
    if rules.break_seconds == 0 or away <= rules.break_after_seconds:
        return plain
    found = []
    for gap in range(len(trip.durations)):
        if gap and sums.took[gap - 1] > rules.break_after_seconds:
            break
        delays = [max(0, rules.break_seconds - waited + sums.waited[gap]) for waited in sums.waited[gap + 1 :]]
        finishes = [*sums.finishes[:gap], *map(sum, zip(sums.finishes[gap:], delays, strict=True))]
        found.append(_late(rules, trip, light, finishes))
    return min(found, key=lambda late: late.total)


def _late(rules: Route, trip: _Trip, light: Sequence[bool], finishes: Sequence[int]) -> Lateness:
    """Return by how much these finishes of the stops, and coming home, are late."""
    late = [max(0, finish - close) for finish, close in zip(finishes, trip.closes, strict=False)]
    return Lateness(
        light=max((seconds for seconds, by_light in zip(late, light, strict=True) if by_light), default=0),
        hours=max((seconds for seconds, by_light in zip(late, light, strict=True) if not by_light), default=0),
        home=max(0, finishes[-1] - rules.home_by),
    )
