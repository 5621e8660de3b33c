"""Rounds drawn from a seed: sites in a square with a clustered half, roads slower than the crow flies."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import NO_LIMIT, Problem, Route, Supply, Task, Visit

HOUR = 3600
DAY = 24 * HOUR


def drives(seed: int, places: int, side_km: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return drive seconds and metres between random places, shapes (places, places); the base is near the middle.

    Roads are 1.3 times the straight line at 45 km/h, a tenth more or less by direction, and obey the triangle rule.
    """
    dice = random.Random(seed)
    points = [(side_km / 2, side_km / 2)]
    centres = [(dice.uniform(0, side_km), dice.uniform(0, side_km)) for _ in range(max(2, places // 15))]
    while len(points) < places:
        if dice.random() < 0.5:
            x, y = dice.choice(centres)
            points.append((x + dice.gauss(0, side_km / 15), y + dice.gauss(0, side_km / 15)))
        else:
            points.append((dice.uniform(0, side_km), dice.uniform(0, side_km)))
    seconds = np.zeros((places, places), dtype=np.int64)
    metres = np.zeros((places, places), dtype=np.int64)
    for i, here in enumerate(points):
        for j, there in enumerate(points):
            if i != j:
                metres[i, j] = round(1300 * math.dist(here, there))
                seconds[i, j] = 60 + round(metres[i, j] / 12.5 * dice.uniform(0.95, 1.05))
    for via in range(places):
        seconds = np.minimum(seconds, seconds[:, via, None] + seconds[None, via, :])
    return seconds, metres


PACKS = (Supply(12_500, NO_LIMIT, 1.0, 0.8),)


def farm_round(seed: int, visits: int, days: int = 1, crews: int = 1, *, side_km: float = 60) -> Problem:
    """Return a round of single-job visits in winter light (8:00 to 16:00), a seventh with hours of their own."""
    dice = random.Random(seed * 1000 + visits)
    seconds, metres = drives(seed, visits + 1, side_km)
    work = tuple(dice.randrange(600, 3000, 60) for _ in range(visits))
    tasks = tuple(
        Task(
            set_up_seconds=dice.choice([300, 600]),
            rank=dice.choices((0, 1, 2), (3, 5, 2))[0],
            weight=7 + dice.choice([0, 0, 0, 3, 10]),
            uses=((0, dice.randrange(2000, 12000, 500)),),
        )
        for _ in range(visits)
    )
    possible = []
    for number in range(visits):
        own = dice.random() < 1 / 7
        shift = dice.choice([0, 2, 3]) * HOUR if own else 0
        for day in range(days):
            opens = day * DAY + 8 * HOUR + shift
            closes = min(opens + 5 * HOUR, day * DAY + 16 * HOUR) if own else day * DAY + 16 * HOUR
            possible.append(Visit(number + 1, opens, closes, (number,), walk_seconds=60, day=day))
    return Problem(PACKS, tasks, tuple(possible), winter_days(days, crews, work, seconds, metres))


def winter_days(
    days: int, crews: int, work: tuple[int, ...], seconds: NDArray[Any], metres: NDArray[Any]
) -> tuple[Route, ...]:
    """Return crew-days from 7:00 to 17:30 that may do every job, with a van for 120 kg and half an hour's break."""
    return tuple(
        Route(
            earliest_leave=day * DAY + 7 * HOUR,
            home_by=day * DAY + 17 * HOUR + HOUR // 2,
            payload_grams=120_000,
            space_millilitres=10_000_000,
            break_seconds=1800,
            break_after_seconds=6 * HOUR,
            work_seconds=work,
            allowed=(True,) * len(work),
            drive_seconds=seconds,
            drive_metres=metres,
            day=day,
        )
        for day in range(days)
        for _ in range(crews)
    )


def mixed_round(seed: int, visits: int, days: int = 1, crews: int = 1) -> Problem:
    """Return a `farm_round` with what a farm has besides: too little stock, crews that are not alike, promised days.

    Two jobs in five use nothing; of what the others use, base has seven tenths. Every second crew leaves an hour later,
    carries 60 kg, takes a fifth longer and cannot do a seventh of the jobs. One job in five is due before the last day,
    one in ten not to be done on the first.
    """
    dice = random.Random(f"mixed {seed} {visits}")
    plain = farm_round(seed, visits, days, crews)
    tasks = tuple(replace(task, uses=()) if dice.random() < 2 / 5 else task for task in plain.tasks)
    used = sum(amount for task in tasks for _, amount in task.uses)
    alone = tuple(dice.random() >= 1 / 7 for _ in range(visits))
    longer = tuple(round(1.2 * seconds) for seconds in plain.routes[0].work_seconds)
    routes = tuple(
        replace(
            route, earliest_leave=route.earliest_leave + HOUR, payload_grams=60_000, work_seconds=longer, allowed=alone
        )
        if number % crews % 2 == 1
        else route
        for number, route in enumerate(plain.routes)
    )
    due = [dice.randrange(1, days) if days > 1 and dice.random() < 1 / 5 else days - 1 for _ in range(visits)]
    begin = [1 if days > 1 and dice.random() < 1 / 10 and due[job] >= 1 else 0 for job in range(visits)]
    possible = tuple(visit for visit in plain.visits if begin[visit.tasks[0]] <= visit.day <= due[visit.tasks[0]])
    return Problem((replace(plain.supplies[0], stock=used * 7 // 10),), tasks, possible, routes)
