"""One crew's long day drawn at random: a hundred places, of which the day holds fifty or more, or all.

Three types after published ones: places in clusters with long work (c2), at random (r2), half of each (rc2). Numbers are
tenths, as the published files are read. Source of the types: M. Solomon, Operations Research 35 (1987), from memory;
no coordinate and no window is from there.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

import numpy as np

from routing.planning.model.problem import LIMITLESS, NO_LIMIT, Problem, Route, Supply, Task, Visit

HOUR, MINUTE = 3600, 60

CLOSING = {"c2": 33_900, "r2": 10_000, "rc2": 9_600}
WORK = {"c2": 900, "r2": 100, "rc2": 100}
WIDTH = {"c2": 1_600, "r2": 1_150, "rc2": 1_200}
"""Horizon, work at each place and half the mean width of a window, in tenths."""

CLUSTERS = 10


@dataclass(frozen=True)
class Windows:
    """Which places have hours of their own, and how wide these are."""

    share: float
    widened: float


WINDOWS = {
    "narrow": Windows(1.0, 1.0),
    "half": Windows(0.5, 1.0),
    "quarter": Windows(0.25, 1.0),
    "wide": Windows(1.0, 4.0),
    "none": Windows(0.0, 1.0),
}


def long_day(kind: str, windows: str, seed: int = 1, places: int = 100) -> Problem:
    """Return one route of a type (c2, r2, rc2) with windows of a sort; weights are 1 to 40, all of one rank."""
    dice = random.Random(f"{kind} {windows} {seed} {places}")
    spots = [(50.0, 50.0), *_spots(dice, kind, places)]
    xy = np.array(spots)
    drives = np.floor(10 * np.linalg.norm(xy[:, None] - xy[None, :], axis=2) + 1e-9).astype(np.int64)
    work, closing, sort = WORK[kind], CLOSING[kind], WINDOWS[windows]
    visits = []
    for place in range(1, places + 1):
        first, last = int(drives[0, place]), closing - int(drives[place, 0]) - work
        low, high = first, last
        if dice.random() < sort.share:
            half = round(WIDTH[kind] * sort.widened * dice.uniform(0.5, 1.5) / 2)
            middle = dice.randint(first, last)
            low, high = max(first, middle - half), min(last, middle + half)
        visits.append(Visit(place, low, high + work, (place - 1,)))
    tasks = tuple(Task(0, 0, 10 * dice.randint(1, 4) if kind == "c2" else dice.randint(1, 40)) for _ in range(places))
    route = Route(0, closing, LIMITLESS, LIMITLESS, 0, 0, (work,) * places, (True,) * places, drives, drives)
    return Problem((), tasks, tuple(visits), (route,))


def _spots(dice: random.Random, kind: str, places: int) -> list[tuple[float, float]]:
    clustered = {"c2": places, "r2": 0, "rc2": places // 2}[kind]
    middles = [(dice.uniform(10, 90), dice.uniform(5, 85)) for _ in range(CLUSTERS)]
    found = []
    for number in range(clustered):
        x, y = middles[number % CLUSTERS]
        found.append((x + dice.gauss(0, 4), y + dice.gauss(0, 4)))
    return found + [(dice.uniform(0, 100), dice.uniform(0, 100)) for _ in range(places - clustered)]


def summer_day(seed: int, sites: int = 80, *, minutes: tuple[int, int] = (4, 12), loads: bool = False) -> Problem:
    """Return fifteen hours of quick visits within 25 km: three ranks, a break, some gates with hours of their own.

    With `loads` the vehicle holds about three quarters of what all would take.
    """
    dice = random.Random(f"summer {seed} {sites} {minutes}")
    xy = np.array([(0.0, 0.0), *((dice.uniform(-25, 25), dice.uniform(-25, 25)) for _ in range(sites))])
    metres = np.rint(1300 * np.linalg.norm(xy[:, None] - xy[None, :], axis=2)).astype(np.int64)
    seconds = np.where(metres > 0, 60 + metres * 3600 // 50_000, 0)
    tasks, visits = [], []
    for place in range(1, sites + 1):
        amount = dice.randint(5, 25)
        tasks.append(Task(3 * MINUTE, dice.choice([1, 2, 2, 3]), 7 + dice.choice([0, 0, 3, 10]), ((0, amount * 1000),)))
        opens, closes = 5 * HOUR, 20 * HOUR
        if dice.random() < 0.3:
            opens += dice.randint(0, 9) * HOUR
            closes = min(closes, opens + dice.randint(2, 6) * HOUR)
        visits.append(Visit(place, opens, closes, (place - 1,), 60))
    work = tuple(dice.randint(*minutes) * MINUTE for _ in tasks)
    needed = sum(amount for task in tasks for _, amount in task.uses)
    room = needed * 3 // 4 if loads else LIMITLESS
    route = Route(5 * HOUR, 20 * HOUR, room, LIMITLESS, 45 * MINUTE, 6 * HOUR, work, (True,) * sites, seconds, metres)
    return Problem((Supply(12_500, NO_LIMIT, 1.0, 0.0),), tuple(tasks), tuple(visits), (route,))


def with_break(problem: Problem, seconds: int, after: int) -> Problem:
    """Return the problem with a break."""
    return replace(
        problem, routes=tuple(replace(r, break_seconds=seconds, break_after_seconds=after) for r in problem.routes)
    )
