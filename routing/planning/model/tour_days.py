"""The possible days of an order: what it takes with its returns to base, and each gap that can hold the break.

With the returns and the gap of the break fixed, let `took` be all seconds until a stop is finished, waits left out,
and F its earliest finish. Leaving at L it is finished at max(F, L + took), and L may be at most `latest`, the least of
each stop's closing less its `took`. So the least time away is max(took, F - latest) with the way home on top, and the
latest departure that gives the earliest home is min(latest, F - took). A crew that is out already leaves now: there
`latest` is that moment. A break in a gap delays each later stop by
what the waits since the gap do not take up: all gaps of an order are told from sums that are made once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from routing.planning.model.problem import Order, Problem, Route


@dataclass(frozen=True)
class Tour:
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


def tours_of(problem: Problem, route: int, order: Order, chosen: Iterable[Sequence[int]]) -> Iterator[Tour]:
    """Yield what an order takes with each of the chosen returns to base by which there is a way."""
    all_seconds, all_metres = problem.legs[route]
    visits = [problem.visits[planned.visit] for planned in order]
    places = [0, *(visit.place for visit in visits), 0]
    seconds = [all_seconds[here][there] for here, there in pairwise(places)]
    metres = [all_metres[here][there] for here, there in pairwise(places)]
    durations = [problem.on_site_seconds(route, planned) for planned in order]
    opens, closes = [visit.opens for visit in visits], [visit.closes for visit in visits]
    suspect = [visit.last_of_day for visit in visits]
    for returns in chosen:
        legs, way, backs = list(seconds), sum(metres), {}
        for number in returns:
            here, there = places[number], places[number + 1]
            home, out = all_seconds[here][0], all_seconds[0][there]
            legs[number] = -1 if min(home, out) < 0 else home + out + problem.routes[route].reload_seconds
            way += all_metres[here][0] + all_metres[0][there] - metres[number]
            backs[number] = home
        if min(legs) >= 0:
            yield Tour(legs, way, durations, opens, closes, suspect, backs)


@dataclass(frozen=True)
class PossibleDay:
    """One possible day of a tour: the gap of its break (None: none), its departure, and how long it is."""

    gap: int | None
    leave: int
    away: int


@dataclass(frozen=True)
class Sums:
    """Of a tour without a break that leaves as early as it can; each list has one entry a stop and one for home."""

    took: list[int]
    """Seconds until it is finished, waits left out."""
    finishes: list[int]
    waited: list[int]
    """Seconds waited until then; one entry more, for the beginning."""
    closes: list[int]


def sums_of(rules: Route, tour: Tour) -> Sums:
    """Return the sums of a tour from which all its possible days are told."""
    took, finishes, waited = [], [], [0]
    so_far, clock = 0, rules.earliest_leave
    for leg, duration, opens in zip(tour.legs, tour.durations, tour.opens, strict=False):
        wait = max(0, opens - clock - leg)
        clock += leg + wait + duration
        so_far += leg + duration
        took.append(so_far)
        finishes.append(clock)
        waited.append(waited[-1] + wait)
    took.append(so_far + tour.legs[-1])
    finishes.append(clock + tour.legs[-1])
    waited.append(waited[-1])
    return Sums(took, finishes, waited, [*tour.closes, rules.home_by])


def possible_days(rules: Route, tour: Tour) -> Iterator[PossibleDay]:
    """Yield the tour's day without a break, or with the break in each gap that can hold it; nothing where none can."""
    sums = sums_of(rules, tour)
    if any(finish > close for finish, close in zip(sums.finishes, sums.closes, strict=True)):
        return
    latest = min(rules.leaves_by, *(close - took for close, took in zip(sums.closes, sums.took, strict=True)))
    plain = day_of(None, sums.finishes[-1], sums.took[-1], latest)
    if rules.break_seconds == 0 or plain.away <= rules.break_after_seconds:
        yield plain
        return
    yield from _days_with_break(rules, tour, sums)


def day_of(gap: int | None, home: int, took: int, latest: int) -> PossibleDay:
    """Return the day with the break in a gap (None: none) that is home at `home` if it leaves as early as it can."""
    return PossibleDay(gap, min(latest, home - took), max(took, home - latest))


def _days_with_break(rules: Route, tour: Tour, sums: Sums) -> Iterator[PossibleDay]:
    rest, after = rules.break_seconds, rules.break_after_seconds
    spare = [close - took for close, took in zip(sums.closes, sums.took, strict=True)]
    room = [
        close - finish + waited
        for close, finish, waited in zip(sums.closes, sums.finishes, sums.waited[1:], strict=True)
    ]
    spare_before = [spare[0], *accumulate(spare, min)]  # the first entry stands before no stop and is not used
    spare_from = list(accumulate(reversed(spare), min))[::-1]
    room_from = list(accumulate(reversed(room), min))[::-1]
    for gap in range(len(tour.durations)):
        if rest + sums.waited[gap] > room_from[gap]:
            continue  # some stop from there on would finish too late, or the crew be home too late
        latest = min(rules.leaves_by, spare_from[gap] - rest)
        if gap:
            latest = min(latest, spare_before[gap])
            if sums.took[gap - 1] > after or sums.finishes[gap - 1] - latest > after:
                continue
        delay = max(0, rest - (sums.waited[-1] - sums.waited[gap]))
        yield day_of(gap, sums.finishes[-1] + delay, sums.took[-1] + rest, latest)
