"""What is on the vehicle along an order, in grams and millilitres."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

from routing.planning.problem import NO_LIMIT, Order, Problem


@dataclass(frozen=True)
class Loads:
    """Load on leaving base (index 0) and on leaving each stop, shape (stops + 1,)."""

    grams: tuple[float, ...]
    millilitres: tuple[float, ...]
    grams_within: tuple[float, ...]
    """Shape (stops + 1,): the most that is on board within each stop and on leaving it; index 0 is the base."""
    millilitres_within: tuple[float, ...]
    used: tuple[int, ...]
    """Shape (supplies,): thousandths of each material used."""
    loaded: tuple[int, ...]
    brought: tuple[int, ...]


def used_by(problem: Problem, tasks: Iterable[int]) -> list[int]:
    """Return the thousandths of each supply that the tasks use, shape (supplies,)."""
    used = [0] * len(problem.supplies)
    for task in tasks:
        for supply, amount in problem.tasks[task].uses:
            used[supply] += amount
    return used


def loads(problem: Problem, order: Order) -> Loads:
    """Return the loads along an order; whole packs go out, part packs stay on board."""
    supplies = problem.supplies
    used = used_by(problem, (task for planned in order for task in planned.tasks))
    loaded = [supply.loaded(amount) for supply, amount in zip(supplies, used, strict=True)]
    on_board, brought = list(loaded), [0] * len(supplies)

    def weigh(carried: Iterable[tuple[int, int]] = ()) -> tuple[float, float]:
        amounts = [a + b for a, b in zip(on_board, brought, strict=True)]
        for supply, amount in carried:
            amounts[supply] += amount
        return (
            sum(a * s.grams_each for a, s in zip(amounts, supplies, strict=True)),
            sum(a * s.millilitres_each for a, s in zip(amounts, supplies, strict=True)),
        )

    points, within = [weigh()], [weigh()]
    for planned in order:
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
    """Return whether payload and space hold at every point of the order."""
    limits, load = problem.routes[route], loads(problem, order)
    return fits_limit(max(load.grams_within), limits.payload_grams) and fits_limit(
        max(load.millilitres_within), limits.space_millilitres
    )


def may_overload(problem: Problem, route: int) -> bool:
    """Return whether the route could pass payload or space if it did everything it is allowed to."""
    rules = problem.routes[route]
    tasks = [task for task, allowed in enumerate(rules.allowed) if allowed]
    out = [s.loaded(used) for s, used in zip(problem.supplies, used_by(problem, tasks), strict=True)]
    for task in tasks:
        for supply, amount in (*problem.tasks[task].back, *problem.tasks[task].carried):
            out[supply] += amount
    grams = sum(amount * s.grams_each for amount, s in zip(out, problem.supplies, strict=True))
    millilitres = sum(amount * s.millilitres_each for amount, s in zip(out, problem.supplies, strict=True))
    return not (fits_limit(grams, rules.payload_grams) and fits_limit(millilitres, rules.space_millilitres))


def fits_limit(amount: float, limit: int) -> bool:
    """Return whether an amount, rounded up at a millionth, is within a limit."""
    return ceil(round(amount, 6)) <= limit


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
