"""Where a crew comes back to base to load again: only where one load is not enough, and then as the day is best."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from routing.planning.model.load import furthest, last_return
from routing.planning.model.problem import Order, Problem, Route

MOST_CHOICES = 150
"""So many ways of coming back are timed one by one; of more the best is found by a programme over the stops."""

Returns = tuple[int, ...]
"""The stops before which base is come back to, rising."""


def least_away_returns(problem: Problem, route: int, order: Order) -> tuple[Returns, ...]:
    """Return the ways of coming back to base among which that of the least time away is; none where loads never fit.

    There are no returns where one load is enough.
    """
    rules = problem.routes[route]
    reach, latest = furthest(problem, rules, order), last_return(problem, order)
    if reach[0] == len(order):
        return ((),)
    found: list[Returns] = []
    for returns in _choices(reach, latest, len(order), rules.most_trips):
        found.append(returns)
        if len(found) > MOST_CHOICES:
            best = _least_away(problem, route, order, reach, latest)
            return () if best is None else (best,)
    return tuple(found)


def _choices(reach: list[int], latest: int, stops: int, trips: int, start: int = 0) -> Iterator[Returns]:
    """Yield every way of coming back from stop `start` on, in so many trips at the most."""
    if reach[start] == stops:
        yield ()
    if trips > 1:
        for end in range(start + 1, min(reach[start], latest) + 1):
            for rest in _choices(reach, latest, stops, trips - 1, end):
                yield (end, *rest)


def soonest_returns(problem: Problem, route: int, rules: Route, order: Order) -> Returns | None:
    """Return the returns that bring the crew home soonest if windows and home-by may be passed; None where none serve.

    `rules` say what the route carries.
    """
    reach, latest = furthest(problem, rules, order), last_return(problem, order)
    stops = _stops(problem, route, order)
    ready: dict[int, tuple[int, Returns]] = {0: (rules.earliest_leave, ())}
    best: tuple[int, Returns] | None = None
    for _ in range(rules.most_trips):
        following: dict[int, tuple[int, Returns]] = {}
        for start, (begins, returns) in ready.items():
            clock = begins
            for end in range(start, reach[start]):
                way = stops[end].out if end == start else stops[end].drive
                if way < 0:
                    break
                clock = max(clock + way, stops[end].opens) + stops[end].seconds
                back = clock + stops[end].home
                if stops[end].home < 0:
                    continue
                if end + 1 == len(order):
                    best = min(best or (back, returns), (back, returns))
                elif end < latest and back + rules.reload_seconds < following.get(end + 1, (back + 10**9, ()))[0]:
                    following[end + 1] = (back + rules.reload_seconds, (*returns, end + 1))
        ready = following
    return None if best is None else best[1]


@dataclass(frozen=True)
class _Stop:
    """A stop of an order with the drives to it, from the stop before and from base, and home; negative without way."""

    opens: int
    closes: int
    seconds: int
    drive: int
    drive_metres: int
    out: int
    out_metres: int
    home: int
    home_metres: int
    suspect: bool


def _stops(problem: Problem, route: int, order: Order) -> list[_Stop]:
    seconds, metres = problem.legs[route]
    found, here = [], 0
    for planned in order:
        visit = problem.visits[planned.visit]
        there = visit.place
        found.append(
            _Stop(
                opens=visit.opens,
                closes=visit.closes,
                seconds=problem.on_site_seconds(route, planned),
                drive=seconds[here][there],
                drive_metres=metres[here][there],
                out=seconds[0][there],
                out_metres=metres[0][there],
                home=seconds[there][0],
                home_metres=metres[there][0],
                suspect=visit.last_of_day,
            )
        )
        here = there
    return found


@dataclass(frozen=True)
class _Label:
    """A beginning of the day, as `timing` has it: a later stop is finished at max(finish, leaving + took)."""

    finish: int
    took: int
    latest: int
    """The latest departure."""
    soonest: int
    """The soonest departure by which the break was begun in time."""
    metres: int
    returns: Returns

    def at_least_as_good(self, other: _Label) -> bool:
        """Return whether nothing that follows the other is worse after this one."""
        return (
            self.finish <= other.finish
            and self.took <= other.took
            and self.latest >= other.latest
            and self.soonest <= other.soonest
            and self.metres <= other.metres
            and len(self.returns) <= len(other.returns)
        )


_Key = tuple[int, bool]
"""With which stop the trip began, and whether the break was had."""


def _least_away(problem: Problem, route: int, order: Order, reach: list[int], latest: int) -> Returns | None:
    """Return the returns of the least time away, then of the shorter way, by labels from stop to stop."""
    rules, stops = problem.routes[route], _stops(problem, route, order)
    for suspect in (False, True):
        labels: dict[_Key, list[_Label]] = {(0, False): [_Label(rules.earliest_leave, 0, 1 << 60, -(1 << 60), 0, ())]}
        for number in range(len(order)):
            labels = _one_on(rules, stops, labels, number, reach, latest, suspect=suspect)
        ends = [
            (away, label.metres + stops[-1].home_metres, len(label.returns), label.returns)
            for (_, rested), some in labels.items()
            for label in some
            if (away := _away(rules, label, stops[-1].home, rested=rested)) is not None
        ]
        if ends:
            return min(ends)[-1]
    return None


def _away(rules: Route, label: _Label, home: int, *, rested: bool) -> int | None:
    """Return the least time away of a day that ends so, None where it may not end so."""
    took = label.took + home
    latest = min(label.latest, rules.home_by - took)
    if home < 0 or label.finish + home > rules.home_by or latest < label.soonest:
        return None
    away = max(took, label.finish + home - latest)
    due = rules.break_seconds > 0 and away > rules.break_after_seconds
    return None if due and not rested else away


def _one_on(
    rules: Route,
    stops: list[_Stop],
    labels: dict[_Key, list[_Label]],
    number: int,
    reach: list[int],
    latest: int,
    *,
    suspect: bool,
) -> dict[_Key, list[_Label]]:
    """Return the labels after one more stop; where not `suspect`, no break is at a site that is last of the day."""
    found: dict[_Key, list[_Label]] = {}
    stop, before = stops[number], stops[number - 1] if number else None
    for (start, rested), some in labels.items():
        ways: list[tuple[int, int, int]] = []
        if number < reach[start] and stop.drive >= 0:
            ways.append((start, stop.drive, stop.drive_metres))
        if before is not None and number <= latest and before.home >= 0 and stop.out >= 0 and reach[number] > number:
            seconds = before.home + rules.reload_seconds + stop.out
            ways.append((number, seconds, before.home_metres + stop.out_metres))
        for label in some:
            for began, drive, metres in ways:
                returns = label.returns if began == start else (*label.returns, began)
                if len(returns) >= rules.most_trips:
                    continue
                for rest in (False, True) if rules.break_seconds and not rested else (False,):
                    place = before or stop
                    if rest and place.suspect and not suspect:
                        continue
                    on = _followed(rules, label, stop, (drive, metres), returns, rest=rest, first=number == 0)
                    if on is not None:
                        _keep(found.setdefault((began, rested or rest), []), on)
    return found


def _followed(
    rules: Route, label: _Label, stop: _Stop, way: tuple[int, int], returns: Returns, *, rest: bool, first: bool
) -> _Label | None:
    """Return the label after a stop, None where it cannot be finished in time or the break is begun too late."""
    soonest = label.soonest
    if rest and not first:
        soonest = label.finish - rules.break_after_seconds
        if label.took > rules.break_after_seconds:
            return None
    lasts = way[0] + rules.break_seconds * rest
    finish = max(label.finish + lasts, stop.opens) + stop.seconds
    took = label.took + lasts + stop.seconds
    latest = min(label.latest, stop.closes - took)
    if finish > stop.closes or latest < soonest:
        return None
    return _Label(finish, took, latest, soonest, label.metres + way[1], returns)


def _keep(some: list[_Label], label: _Label) -> None:
    if any(other.at_least_as_good(label) for other in some):
        return
    some[:] = [other for other in some if not label.at_least_as_good(other)]
    some.append(label)
