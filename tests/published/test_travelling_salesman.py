"""The day engine against published optimal tours.

Source: TSPLIB, G. Reinelt, ORSA Journal on Computing 3 (1991): instances burma14 (Zaw Win) and ulysses22 (Groetschel and
Padberg), the GEO distance of its section 2.4, and the optimal lengths of its list: 3323 and 7013.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from routing.planning.exact.cp_sat import best_day
from routing.planning.model.problem import Problem, Route, Task, Visit

BURMA14 = (
    (16.47, 96.10), (16.47, 94.44), (20.09, 92.54), (22.39, 93.37), (25.23, 97.24), (22.00, 96.05), (20.47, 97.02),
    (17.20, 96.29), (16.30, 97.38), (14.05, 98.12), (16.53, 97.38), (21.52, 95.59), (19.41, 97.13), (20.09, 94.55),
)  # fmt: skip
ULYSSES22 = (
    (38.24, 20.42), (39.57, 26.15), (40.56, 25.32), (36.26, 23.12), (33.48, 10.54), (37.56, 12.19), (38.42, 13.11),
    (37.52, 20.44), (41.23, 9.10), (41.17, 13.05), (36.08, -5.21), (38.47, 15.13), (38.15, 15.35), (37.51, 15.17),
    (35.49, 14.32), (39.36, 19.56), (38.09, 24.36), (36.09, 23.00), (40.44, 13.57), (40.33, 14.15), (40.37, 14.23),
    (37.57, 22.56),
)  # fmt: skip


def geo_distance(one: tuple[float, float], two: tuple[float, float]) -> int:
    """Return the GEO distance: DDD.MM degrees, pi = 3.141592, radius 6378.388, truncated."""

    def radians(value: float) -> float:
        degrees = int(value)
        return 3.141592 * (degrees + 5 * (value - degrees) / 3) / 180

    (lat1, lon1), (lat2, lon2) = ((radians(a), radians(b)) for a, b in (one, two))
    q1, q2, q3 = math.cos(lon1 - lon2), math.cos(lat1 - lat2), math.cos(lat1 + lat2)
    return int(6378.388 * math.acos(0.5 * ((1 + q1) * q2 - (1 - q1) * q3)) + 1)


@pytest.mark.parametrize(("places", "optimum"), [(BURMA14, 3323), (ULYSSES22, 7013)], ids=["burma14", "ulysses22"])
def test_the_day_engine_reaches_the_published_optimum(places: tuple[tuple[float, float], ...], optimum: int) -> None:
    """A day with a visit of no length at every place is a tour; the least time away is its published length."""
    size = len(places)
    seconds = np.array([[geo_distance(a, b) if a != b else 0 for b in places] for a in places], dtype=np.int64)
    problem = Problem(
        supplies=(),
        tasks=tuple(Task(0, 0, 1) for _ in places[1:]),
        visits=tuple(Visit(place, 0, 100_000, (place - 1,)) for place in range(1, size)),
        routes=(Route(0, 100_000, 1, 1, 0, 1, (0,) * (size - 1), (True,) * (size - 1), seconds, seconds),),
    )
    answer = best_day(problem, 0, frozenset(range(size - 1)), ())
    assert answer.proven
    assert answer.away_bound == optimum
    stops = [0, *(problem.visits[planned.visit].place for planned in answer.order), 0]
    assert sorted(stops[1:]) == list(range(size))
    assert sum(int(seconds[a, b]) for a, b in pairwise(stops)) == optimum
