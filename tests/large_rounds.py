"""Large rounds drawn from a seed, quickly: clusters of sites in a square, roads a third longer than the crow flies."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import Problem, Task, Visit
from tests.farm_rounds import DAY, HOUR, PACKS, winter_days


def large_round(seed: int, visits: int, days: int, crews: int, *, side_km: float = 60) -> Problem:
    """Return a round of single-job visits in winter light (8:00 to 16:00), a seventh with hours of their own.

    Half of the sites lie in clusters. Drives obey the triangle rule, since they are straight lines at 45 km/h, 1.3
    times as long, rounded up, with a minute besides; drives of more than 500 places are kept in 32 bits.
    """
    dice = np.random.default_rng(seed)
    centres = dice.uniform(0, side_km, (max(2, visits // 15), 2))
    clustered = dice.random(visits) < 0.5
    near = centres[dice.integers(len(centres), size=visits)] + dice.normal(0, side_km / 15, (visits, 2))
    sites = np.where(clustered[:, None], near, dice.uniform(0, side_km, (visits, 2)))
    points = np.vstack([[side_km / 2, side_km / 2], sites])
    size: type[np.signedinteger[Any]] = np.int32 if visits > 500 else np.int64
    metres: NDArray[Any] = np.empty((visits + 1, visits + 1), dtype=size)
    for row, point in enumerate(points):
        metres[row] = np.ceil(1300 * np.hypot(*(points - point).T)).astype(size)
    seconds: NDArray[Any] = (60 + np.ceil(metres / 12.5)).astype(size)
    np.fill_diagonal(seconds, 0)
    work = tuple((60 * dice.integers(10, 50, visits)).tolist())
    ranks, weights = dice.choice(3, visits, p=[0.3, 0.5, 0.2]).tolist(), dice.choice([7, 10, 17], visits).tolist()
    uses, set_up = (500 * dice.integers(4, 24, visits)).tolist(), dice.choice([300, 600], visits).tolist()
    tasks = tuple(
        Task(set_up[number], ranks[number], weights[number], ((0, uses[number]),)) for number in range(visits)
    )
    shifts = np.where(dice.random(visits) < 1 / 7, dice.choice([0, 2, 3], visits), -1).tolist()
    possible = []
    for day in range(days):
        for number, shift in enumerate(shifts):
            opens = day * DAY + (8 + max(0, shift)) * HOUR
            closes = day * DAY + 16 * HOUR if shift < 0 else min(opens + 5 * HOUR, day * DAY + 16 * HOUR)
            possible.append(Visit(number + 1, opens, closes, (number,), walk_seconds=60, day=day))
    return Problem(PACKS, tasks, tuple(possible), winter_days(days, crews, work, seconds, metres))
