"""Where a crew comes back to base to load again: only where one load is not enough, and then as home is soonest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from routing.planning.load import furthest, last_return
from routing.planning.problem import Order, Problem, Route

Ready = dict[tuple[int, bool], tuple[int, tuple[int, ...]]]
"""By stops done and whether the break was had: when the crew can leave base again, and its returns until then."""


def soonest_returns(
    problem: Problem, route: int, order: Order, *, rested: bool, in_time: bool = True
) -> tuple[int, ...] | None:
    """Return before which stops to come back to base so that home is earliest, then the fewest; None where none serve.

    There are no returns where one load is enough. Where not `rested`, the break is taken at a stop or at base. Unless
    `in_time`, windows and home-by may be passed. A programme over the stops done, the returns made and whether
    the break was had: of each, only the earliest can be best.
    """
    rules, seconds = problem.routes[route], problem.legs[route][0]
    reach, latest = furthest(problem, rules, order), last_return(problem, order)
    if reach[0] == len(order):
        return ()
    day = _Day(rules, seconds, _stops(problem, route, order), in_time)
    ready: Ready = {(0, rested): (rules.earliest_leave, ())}
    best: tuple[int, int, tuple[int, ...]] | None = None
    for trip in range(rules.most_trips):
        following: Ready = {}
        for (start, had), (leave, returns) in ready.items():
            for end, rest, back in _trips(day, start, reach[start], (leave, had)):
                if end == len(order):
                    if rest and (best is None or (back, trip) < best[:2]):
                        best = (back, trip, returns)
                elif end <= latest:
                    for then in {rest, True}:
                        again = back + rules.reload_seconds + (0 if then == rest else rules.break_seconds)
                        if day.home(again) and again < following.get((end, then), (again + 1, ()))[0]:
                            following[end, then] = (again, (*returns, end))
        ready = following
    return None if best is None else best[2]


@dataclass(frozen=True)
class _Stop:
    place: int
    opens: int
    closes: int
    seconds: int


@dataclass(frozen=True)
class _Day:
    rules: Route
    drives: list[list[int]]
    stops: list[_Stop]
    in_time: bool

    def closes(self, stop: _Stop, clock: int) -> bool:
        """Return whether a stop may be finished by then."""
        return clock <= stop.closes or not self.in_time

    def home(self, clock: int) -> bool:
        """Return whether the crew may be at base by then."""
        return clock <= self.rules.home_by or not self.in_time


def _stops(problem: Problem, route: int, order: Order) -> list[_Stop]:
    visits = [problem.visits[planned.visit] for planned in order]
    return [
        _Stop(visit.place, visit.opens, visit.closes, problem.on_site_seconds(route, planned))
        for visit, planned in zip(visits, order, strict=True)
    ]


def _trips(day: _Day, start: int, reach: int, begin: tuple[int, bool]) -> Iterator[tuple[int, bool, int]]:
    """Yield up to which stop a trip goes, whether the break was had by then, and when base is reached the soonest.

    The trip begins with stop `start` and one load does up to `reach`; `begin` is when base is left and whether the
    break was had.
    """
    leave, had = begin
    clocks, here = {had: leave}, 0
    for number, stop in enumerate(day.stops[start:reach], start=start + 1):
        drive, back = day.drives[here][stop.place], day.drives[stop.place][0]
        if drive < 0:
            return
        finishes: dict[bool, int] = {}
        for rest, clock in clocks.items():
            finish = max(clock + drive, stop.opens) + stop.seconds
            ends = [(rest, finish)] if rest else [(False, finish), (True, finish + day.rules.break_seconds)]
            for then, end in ends:
                if day.closes(stop, end) and end < finishes.get(then, end + 1):
                    finishes[then] = end
        for rest, finish in finishes.items():
            if back >= 0 and day.home(finish + back):
                yield number, rest, finish + back
        clocks, here = finishes, stop.place
