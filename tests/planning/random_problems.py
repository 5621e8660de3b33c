"""Small random problems, and the answer by trying every order: the oracle for the engines."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator

import numpy as np

from routing.planning.load import carries, stock_holds
from routing.planning.problem import (
    NO_LIMIT,
    RANKS,
    Order,
    Planned,
    Problem,
    Route,
    Supply,
    Task,
    Visit,
    rank_score,
    served,
)
from routing.planning.timing import timeline

HOUR = 3600


def random_problem(seed: int, visits: int = 5, routes: int = 1, features: frozenset[str] = frozenset()) -> Problem:
    """Return a problem in which not all can be done; `features` adds hours, two tasks, load, stock, break, last."""
    dice = random.Random(seed)
    places = visits + 1
    seconds = np.zeros((places, places), dtype=np.int64)
    for i, j in itertools.permutations(range(places), 2):
        seconds[i, j] = dice.randint(300, 2400)
    tasks: list[Task] = []
    possible: list[Visit] = []
    for place in range(1, places):
        mine = []
        for _ in range(2 if "two tasks" in features and dice.random() < 0.5 else 1):
            mine.append(len(tasks))
            tasks.append(
                Task(
                    set_up_seconds=dice.choice([300, 600, 900]),
                    rank=dice.randrange(RANKS),
                    weight=7 + dice.choice([0, 0, 5]),
                    uses=((0, dice.randint(1, 40) * 1000),) if features & {"load", "stock"} else (),
                    back=((1, dice.randint(0, 30) * 1000),) if "back" in features else (),
                )
            )
        opens, closes = 8 * HOUR + dice.randint(0, 60), 13 * HOUR + dice.randint(0, 60)
        if "hours" in features and dice.random() < 0.6:
            opens += dice.randint(-1, 3) * HOUR
            closes = min(closes + HOUR, opens + dice.randint(2, 4) * HOUR)
        possible.append(
            Visit(
                place=place,
                opens=opens,
                closes=closes,
                tasks=tuple(mine),
                walk_seconds=dice.choice([0, 120]),
                last_of_day="last" in features and dice.random() < 0.4,
            )
        )
        if "spans" in features and dice.random() < 0.5:
            possible.append(Visit(place, 9 * HOUR, 10 * HOUR, tuple(mine)))
    return Problem(
        supplies=(
            Supply(12_500, 100_000 if "stock" in features else NO_LIMIT, 1.0, 0.8),
            Supply(0, NO_LIMIT, 1.1, 1.5),
        ),
        tasks=tuple(tasks),
        visits=tuple(possible),
        routes=tuple(
            Route(
                earliest_leave=7 * HOUR + 1800,
                home_by=14 * HOUR,
                payload_grams=90_000 if features & {"load", "back"} else 10_000_000,
                space_millilitres=80_000 if "space" in features else 10_000_000,
                break_seconds=1200 if "break" in features else 0,
                break_after_seconds=4 * HOUR,
                work_seconds=tuple(dice.randint(900, 5400) for _ in tasks),
                allowed=tuple(True for _ in tasks),
                drive_seconds=seconds,
                drive_metres=seconds * 15,
            )
            for _ in range(routes)
        ),
    )


def key(problem: Problem, orders: tuple[Order, ...]) -> tuple[int, ...] | None:
    """Return what is compared (larger is better), or None where a rule is broken."""
    away = metres = 0
    for route, order in enumerate(orders):
        if not order:
            continue
        times = timeline(problem, route, order)
        if times is None or not carries(problem, route, order):
            return None
        lasts = [problem.visits[planned.visit].last_of_day for planned in order]
        if lasts != sorted(lasts):
            return None
        away += times.away
        metres += times.metres
    tasks = served(orders)
    if not stock_holds(problem, tasks):
        return None
    return (*rank_score(problem, tasks), -away, -metres)


def every_order(problem: Problem) -> Iterator[Order]:
    """Yield every order of one route: every choice of stops, of tasks in each, and of sequence."""
    choices = []
    for number, visit in enumerate(problem.visits):
        subsets = [
            Planned(number, subset)
            for size in range(1, len(visit.tasks) + 1)
            for subset in itertools.combinations(visit.tasks, size)
        ]
        choices.append([None, *subsets])
    for choice in itertools.product(*choices):
        stops = [planned for planned in choice if planned is not None]
        done = [task for planned in stops for task in planned.tasks]
        if len(done) == len(set(done)):
            yield from itertools.permutations(stops)


def best_by_trying(problem: Problem) -> tuple[int, ...]:
    """Return the key of the best order of a one-route problem."""
    found = (key(problem, (order,)) for order in every_order(problem))
    return max(value for value in found if value is not None)
