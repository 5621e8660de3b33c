"""Small crew-days with narrow hours, a break, returns to base, and drives by which a way round may be quicker."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.load import stock_holds
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import (
    LIMITLESS,
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

HOUR, MINUTE = 3600, 60


def hard_day(seed: int) -> Problem:
    """Return a crew-day of two to four tasks; the same seed gives the same day."""
    dice = random.Random(seed)
    count = dice.randint(2, 4)
    drives = _drives(dice, count + 1)
    returns = dice.random() < 0.35
    metres = drives.copy() if dice.random() < 0.5 else np.where(drives < 0, -1, drives % 700)
    route = Route(
        earliest_leave=dice.randint(6 * 60, 9 * 60) * MINUTE,
        home_by=dice.randint(11 * 60, 18 * 60) * MINUTE,
        payload_grams=dice.choice([4, 6]) if returns else LIMITLESS,
        space_millilitres=LIMITLESS,
        break_seconds=dice.choice([0, 1200, 1800, 3600]),
        break_after_seconds=dice.choice([2, 3, 4, 6]) * HOUR,
        work_seconds=tuple(dice.randint(5, 60) * MINUTE for _ in range(count)),
        allowed=(True,) * count,
        drive_seconds=drives,
        drive_metres=metres,
        most_trips=dice.choice([2, 3]) if returns else 1,
        reload_seconds=10 * MINUTE,
    )
    tasks = tuple(
        Task(
            set_up_seconds=dice.choice([0, 300, 600]),
            rank=dice.randint(0, 2),
            weight=7 + dice.choice([0, 0, 0, 3]),
            uses=((0, dice.randint(1, 3)),) if dice.random() < 0.8 else (),
            back=((0, 1),) if dice.random() < 0.2 else (),
        )
        for _ in range(count)
    )
    supply = Supply(dice.choice([0, 3]), dice.choice([NO_LIMIT, NO_LIMIT, 2 * count]), 1, 0)
    return Problem((supply,), tasks, tuple(_visits(dice, count)), (route,))


def _drives(dice: random.Random, places: int) -> NDArray[np.int64]:
    if dice.random() < 0.5:
        spots = np.array([[dice.random() * 40, dice.random() * 40] for _ in range(places)])
        return np.asarray(np.linalg.norm(spots[:, None] - spots[None, :], axis=2) * MINUTE, dtype=np.int64)
    drives = np.array(
        [[dice.choice([0, 300, 600, 900, 1800, 3000]) for _ in range(places)] for _ in range(places)], dtype=np.int64
    )
    if dice.random() < 0.3:
        drives[dice.randrange(places), dice.randrange(places)] = -1
    np.fill_diagonal(drives, 0)
    return drives


def _visits(dice: random.Random, count: int) -> Iterator[Visit]:
    """Yield one or two spans a place; sometimes two tasks share the first place."""
    together = count > 2 and dice.random() < 0.4
    for task in range(count):
        suspect, opens = dice.random() < 0.25, dice.randint(7 * 60, 10 * 60) * MINUTE
        for _ in range(dice.choice([1, 1, 2])):
            lasts = dice.choice([1800, 3600, 5400, 7200, 20_000])
            if not (together and task == 1):
                tasks = (0, 1) if together and task == 0 else (task,)
                yield Visit(task + 1, opens, opens + lasts, tasks, dice.choice([0, 120]), suspect)
            opens += lasts + dice.randint(600, 9000)


@dataclass(frozen=True)
class Tried:
    """The best of every order of a day: each visit at most once, and however often."""

    once: tuple[tuple[int, ...], int, int]
    """Weight by rank, and below zero the seconds away and the metres; larger is better."""
    often: tuple[tuple[int, ...], int, int]
    order: Order
    """The best with each visit at most once; empty where nothing is possible."""


def every_order_tried(problem: Problem) -> Tried:
    """Return the best of all orders as they are timed and loaded."""
    order_costs = OrderCosts(problem)
    nothing = ((0,) * RANKS, 0, 0)
    best: dict[bool, tuple[tuple[int, ...], int, int]] = {True: nothing, False: nothing}
    first: Order = ()
    for order in _orders(problem):
        cost = order_costs.cost(0, order)
        if cost is None or not stock_holds(problem, served((order,))):
            continue
        worth = (rank_score(problem, served((order,))), -cost.main, -cost.tie)
        once = len({planned.visit for planned in order}) == len(order)
        best[False] = max(best[False], worth)
        if once and worth > best[True]:
            best[True], first = worth, order
    return Tried(best[True], best[False], first)


def _orders(problem: Problem) -> Iterator[Order]:
    stops = [
        Planned(number, tasks)
        for number, visit in enumerate(problem.visits)
        for size in range(1, len(visit.tasks) + 1)
        for tasks in itertools.combinations(visit.tasks, size)
    ]

    def longer(order: Order) -> Iterator[Order]:
        done = served((order,))
        for stop in stops:
            if done.isdisjoint(stop.tasks):
                more = (*order, stop)
                yield more
                yield from longer(more)

    yield from longer(())
