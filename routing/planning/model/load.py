"""What is on the vehicle along an order, in grams and millilitres, trip by trip."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil

from routing.planning.model.problem import LIMITLESS, NO_LIMIT, Order, Problem, Route, Supply, fits_limit, used_by


@dataclass(frozen=True)
class Loads:
    """The load of one trip on leaving base (index 0) and on leaving each of its stops, shape (stops + 1,)."""

    grams: tuple[float, ...]
    millilitres: tuple[float, ...]
    grams_within: tuple[float, ...]
    """Shape (stops + 1,): the most that is on board within each stop and on leaving it; index 0 is the base."""
    millilitres_within: tuple[float, ...]
    used: tuple[int, ...]
    """Shape (supplies,): thousandths of each material used."""
    loaded: tuple[int, ...]
    """Put on board before the trip; what was left over from the one before is on board already."""
    brought: tuple[int, ...]


def loads(problem: Problem, order: Order) -> Loads:
    """Return the loads along an order in one trip; whole packs go out, part packs stay on board."""
    return next(trip_loads(problem, order, ()))


def trip_loads(problem: Problem, order: Order, returns: Sequence[int]) -> Iterator[Loads]:
    """Yield the loads of each trip of an order; `returns` holds the stops before which base is come back to, rising.

    At base all that was brought is taken off. Packs are opened once: what a trip leaves of them serves the next.
    """
    supplies = problem.supplies
    before_used, before_loaded = [0] * len(supplies), [0] * len(supplies)
    for start, end in pairwise((0, *returns, len(order))):
        stops = order[start:end]
        used = used_by(problem, (task for planned in stops for task in planned.tasks))
        in_all = [a + b for a, b in zip(before_used, used, strict=True)]
        loaded_in_all = [supply.loaded(amount) for supply, amount in zip(supplies, in_all, strict=True)]
        on_board = [a - b for a, b in zip(loaded_in_all, before_used, strict=True)]
        loaded = [a - b for a, b in zip(loaded_in_all, before_loaded, strict=True)]
        yield _trip(problem, stops, on_board, used, loaded)
        before_used, before_loaded = in_all, loaded_in_all


def _trip(problem: Problem, stops: Order, on_board: list[int], used: list[int], loaded: list[int]) -> Loads:
    supplies = problem.supplies
    brought = [0] * len(supplies)

    def weigh(carried: Iterable[tuple[int, int]] = ()) -> tuple[float, float]:
        amounts = [a + b for a, b in zip(on_board, brought, strict=True)]
        for supply, amount in carried:
            amounts[supply] += amount
        return (
            sum(a * s.grams_each for a, s in zip(amounts, supplies, strict=True)),
            sum(a * s.millilitres_each for a, s in zip(amounts, supplies, strict=True)),
        )

    points, within = [weigh()], [weigh()]
    for planned in stops:
        for task in planned.tasks:
            for supply, amount in problem.tasks[task].uses:
                on_board[supply] -= amount
            for supply, amount in problem.tasks[task].back:
                brought[supply] += amount
        points.append(weigh())
        carried = [pair for task in planned.tasks for pair in problem.tasks[task].carried]
        within.append(weigh(carried) if carried else points[-1])
    return Loads(
        grams=tuple(p[0] for p in points),
        millilitres=tuple(p[1] for p in points),
        grams_within=tuple(p[0] for p in within),
        millilitres_within=tuple(p[1] for p in within),
        used=tuple(used),
        loaded=tuple(loaded),
        brought=tuple(brought),
    )


def carries(problem: Problem, route: int, order: Order) -> bool:
    """Return whether payload and space hold at every point, in as many trips as the route may make."""
    limits = problem.routes[route]
    if limits.most_trips > 1:
        trips = fewest_trips(problem, limits, order)
        return trips is not None and trips <= limits.most_trips
    load = loads(problem, order)
    return fits_limit(max(load.grams_within), limits.payload_grams) and fits_limit(
        max(load.millilitres_within), limits.space_millilitres
    )


def overload(problem: Problem, route: int, order: Order) -> tuple[float, float]:
    """Return by how many grams and millilitres an order is over what the route carries in its trips."""
    rules, load = problem.routes[route], loads(problem, order)
    over = (
        max(0.0, max(load.grams_within) - rules.payload_grams),
        max(0.0, max(load.millilitres_within) - rules.space_millilitres),
    )
    if rules.most_trips == 1:
        return over

    def enough(grams: int, millilitres: int) -> bool:
        larger = replace(rules, payload_grams=grams, space_millilitres=millilitres)
        trips = fewest_trips(problem, larger, order)
        return trips is not None and trips <= rules.most_trips

    payload, space = rules.payload_grams, rules.space_millilitres
    if enough(payload, space):
        return 0.0, 0.0
    more_grams = bisect_left(range(ceil(over[0])), 1, key=lambda more: enough(payload + more, LIMITLESS))
    more_space = bisect_left(range(ceil(over[1])), 1, key=lambda more: enough(LIMITLESS, space + more))
    if not more_grams and not more_space:
        return over  # each measure alone is met, by other trips
    return float(more_grams), float(more_space)


def furthest(problem: Problem, rules: Route, order: Order) -> list[int]:
    """Return for each stop up to which stop (not included) one load can do the order from there, shape (stops,).

    The load of a trip never falls as a stop is added to its end, so all that lies between fits too. A stop that is too
    much by itself gives its own index.
    """
    taken = [problem.tasks[task].uses for planned in order for task in planned.tasks]
    names = sorted({supply for uses in taken for supply, _ in uses})  # a catalogue has many that no stop takes
    index, supplies = {supply: number for number, supply in enumerate(names)}, [problem.supplies[n] for n in names]
    used = [[0] * len(supplies)]
    brought, carried = [(0.0, 0.0)], [(0.0, 0.0)]
    for planned in order:
        now = list(used[-1])
        grams, millilitres = brought[-1]
        on_top = [0.0, 0.0]
        for task in planned.tasks:
            for supply, amount in problem.tasks[task].uses:
                now[index[supply]] += amount
            for supply, amount in problem.tasks[task].back:
                grams += amount * problem.supplies[supply].grams_each
                millilitres += amount * problem.supplies[supply].millilitres_each
            for supply, amount in problem.tasks[task].carried:
                on_top[0] += amount * problem.supplies[supply].grams_each
                on_top[1] += amount * problem.supplies[supply].millilitres_each
        used.append(now)
        brought.append((grams, millilitres))
        carried.append((on_top[0], on_top[1]))
    weights = [_measured(supplies, amounts) for amounts in used]
    loaded = [_measured(supplies, [s.loaded(a) for a, s in zip(amounts, supplies, strict=True)]) for amounts in used]
    limits = (rules.payload_grams, rules.space_millilitres)
    if all(fits_limit(loaded[-1][m] + brought[-1][m] + max(c[m] for c in carried), limits[m]) for m in (0, 1)):
        return [len(order)] * len(order)  # everything at once is not too much
    columns = [[[each[m] for each in found] for found in (weights, loaded, brought, carried)] for m in (0, 1)]
    both = [_reached(limit, *measured) for limit, measured in zip(limits, columns, strict=True)]
    return [min(pair) for pair in zip(*both, strict=True)]


Measured = tuple[float, float]
"""Grams and millilitres."""


def _measured(supplies: Sequence[Supply], amounts: Sequence[int]) -> Measured:
    return (
        sum(a * s.grams_each for a, s in zip(amounts, supplies, strict=True)),
        sum(a * s.millilitres_each for a, s in zip(amounts, supplies, strict=True)),
    )


def _reached(
    limit: int, weights: Sequence[float], loaded: Sequence[float], brought: Sequence[float], carried: Sequence[float]
) -> list[int]:
    """Return for each stop how far one load goes in one measure, by what is used, loaded and so on until each."""
    count = len(weights) - 1
    found = []
    for start in range(count):
        end, had, most = start, brought[start], -weights[start]
        while end < count:
            most = max(most, brought[end + 1] - had - weights[end + 1] + carried[end + 1])
            if not fits_limit(loaded[end + 1] + most, limit):
                break
            end += 1
        found.append(end)
    return found


def last_return(problem: Problem, order: Order) -> int:
    """Return the last stop before which base may be come back to: nothing is carried on from a last-of-day site."""
    return next(
        (number for number, planned in enumerate(order) if problem.visits[planned.visit].last_of_day), len(order) - 1
    )


def fewest_trips(problem: Problem, rules: Route, order: Order) -> int | None:
    """Return the fewest trips that carry the order; None where however many do not."""
    reach, latest = furthest(problem, rules, order), last_return(problem, order)
    here = trips = 0
    while here < len(order):
        end = reach[here] if reach[here] == len(order) else min(reach[here], latest)
        if end <= here:
            return None
        here, trips = end, trips + 1
    return trips


def stock_left(problem: Problem, tasks: Iterable[int]) -> list[int]:
    """Return each supply's stock less what the tasks use, shape (supplies,); NO_LIMIT where there is no limit."""
    return [
        NO_LIMIT if supply.stock == NO_LIMIT else supply.stock - amount
        for supply, amount in zip(problem.supplies, used_by(problem, tasks), strict=True)
    ]


def stock_holds(problem: Problem, tasks: Iterable[int]) -> bool:
    """Return whether the stock serves all these tasks together."""
    used = used_by(problem, tasks)
    return all(s.stock == NO_LIMIT or amount <= s.stock for s, amount in zip(problem.supplies, used, strict=True))


def unlimited(problem: Problem, tasks: frozenset[int]) -> frozenset[int]:
    """Return those of the tasks that use nothing of what is too little for all of them."""
    short = {
        supply
        for supply, left in enumerate(stock_left(problem, tasks))
        if left < 0 and problem.supplies[supply].stock != NO_LIMIT
    }
    return frozenset(task for task in tasks if not any(s in short and n for s, n in problem.tasks[task].uses))
