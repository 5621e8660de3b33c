"""Clock times of an order: earliest home, then the latest departure that still gives it.

Engines choose only which stops and in which order; every second after that is decided here.
"""

from __future__ import annotations

from dataclasses import dataclass

from routing.planning.problem import Order, Problem


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
    """Index of the stop that hosts the break."""
    metres: int

    @property
    def away(self) -> int:
        """Seconds from leaving base to being back."""
        return self.home - self.leave


def timeline(problem: Problem, route: int, order: Order) -> Timeline | None:
    """Return the times of `order`, or None where a window, the way or home-by cannot be kept.

    The order must not be empty. A break is placed only where the day is longer than the crew's rule allows without;
    of the stops that can host it, the one giving the earliest home, then the latest departure, then nearest the middle
    of the day, is taken.
    """
    rules = problem.routes[route]
    plain = _times(problem, route, order, None)
    if plain is None or not rules.break_seconds or plain.away <= rules.break_after_seconds:
        return plain
    best: tuple[tuple[int, int, int], Timeline] | None = None
    for host in range(len(order)):
        times = _times(problem, route, order, host)
        if times is None:
            continue
        middle = abs(times.starts[host] + times.finishes[host] - times.leave - times.home)
        measure = (times.home, -times.leave, middle)
        if best is None or measure < best[0]:
            best = (measure, times)
    return best[1] if best else None


def drives(problem: Problem, route: int, order: Order) -> tuple[list[int], int] | None:
    """Return the seconds of every leg (base to base) and the metres in all, or None where there is no way."""
    rules = problem.routes[route]
    seconds, metres = [], 0
    here = 0
    for there in (*(problem.visits[planned.visit].place for planned in order), 0):
        leg = int(rules.drive_seconds[here, there])
        if leg < 0:
            return None
        seconds.append(leg)
        metres += int(rules.drive_metres[here, there])
        here = there
    return seconds, metres


def _times(problem: Problem, route: int, order: Order, host: int | None) -> Timeline | None:
    way = drives(problem, route, order)
    if way is None:
        return None
    legs, metres = way
    rules = problem.routes[route]
    durations = [problem.on_site_seconds(route, planned) for planned in order]
    if host is not None:
        durations[host] += rules.break_seconds
    windows = [(problem.visits[planned.visit].opens, problem.visits[planned.visit].closes) for planned in order]

    clock = rules.earliest_leave
    for leg, duration, (opens, closes) in zip(legs, durations, windows, strict=False):
        clock = max(clock + leg, opens) + duration
        if clock > closes:
            return None
    home = clock + legs[-1]
    if home > rules.home_by:
        return None

    latest = home
    for leg, duration, (_, closes) in zip(reversed(legs[1:]), reversed(durations), reversed(windows), strict=True):
        latest = min(latest - leg, closes) - duration
    leave = latest - legs[0]

    arrives, starts, finishes = [], [], []
    clock = leave
    for leg, duration, (opens, _) in zip(legs, durations, windows, strict=False):
        arrives.append(clock + leg)
        starts.append(max(arrives[-1], opens))
        clock = starts[-1] + duration
        finishes.append(clock)
    return Timeline(leave, tuple(arrives), tuple(starts), tuple(finishes), home, host, metres)


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
    way = drives(problem, route, order)
    if way is None:
        return None
    if timeline(problem, route, order) is not None:
        return Lateness(0, 0, 0)
    legs, _ = way
    rules = problem.routes[route]
    durations = [problem.on_site_seconds(route, planned) for planned in order]
    longer = sum(legs) + sum(durations) > rules.break_after_seconds and rules.break_seconds > 0
    if longer:
        durations[len(order) // 2] += rules.break_seconds
    clock = rules.earliest_leave
    light = hours = 0
    for leg, duration, planned in zip(legs, durations, order, strict=False):
        visit = problem.visits[planned.visit]
        clock = max(clock + leg, visit.opens) + duration
        late = max(0, clock - visit.closes)
        if visit.closed_by_light:
            light = max(light, late)
        else:
            hours = max(hours, late)
    return Lateness(light, hours, max(0, clock + legs[-1] - rules.home_by))
