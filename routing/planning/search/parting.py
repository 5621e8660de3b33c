"""Which crew-days of a large round belong together: near ones, by their places, with others each time.

Sources: E. D. Taillard, S. Voss, POPMUSIC, in Essays and Surveys in Metaheuristics (2002), for parts of a solution that
are made better one by one; A. Santini, M. Schneider, T. Vidal, D. Vigo, Decomposition strategies for vehicle routing
heuristics, INFORMS Journal on Computing 35 (2023), for parts by the nearness of routes; both from memory, not checked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import BLOCK, Orders, Problem, served
from routing.planning.search.preselection import FAR, worth_of

ROUTES_A_PART, TASKS_A_PART = 8, 120
"""A part has no more crew-days, and where it has two no more tasks, than these."""

LEFT_SHARE = 0.5
"""For each task that a part serves, so many that are left out near it go with it."""

LEAST_LEFT = 10

NEAREST = 20
"""Neighbours of a place that make the routes to both related."""

LANDMARKS = 24
"""Places whose drives to all others tell where these lie."""


@dataclass(frozen=True, eq=False)
class Nearness:
    """Which tasks lie near which."""

    tasks: NDArray[np.int64]
    """Shape (tasks,), rising."""
    near: NDArray[np.int64]
    """Shape (tasks, neighbours): positions in `tasks`."""
    angles: NDArray[np.float64]
    """Shape (tasks,): the direction in which each lies from base, on a map that is made of drives alone."""
    worth: NDArray[np.int64]
    """Shape (tasks,): positions in `tasks`, those first that are worth most for the time that they take."""
    seconds: NDArray[np.int64]
    """Shape (tasks,): a guess at what each takes."""


def nearness_of(problem: Problem, tasks: frozenset[int]) -> Nearness:
    """Return which of the tasks lie near which, by the first route's drives; no array of all pairs is made."""
    numbers = np.array(sorted(tasks), dtype=np.int64)
    places = np.array(
        [problem.visits[visits[0]].place if (visits := problem.visits_of[task]) else 0 for task in numbers.tolist()]
    )
    drives = problem.routes[0].drive_seconds
    count = min(NEAREST, len(numbers) - 1)
    near = np.zeros((len(numbers), count), dtype=np.int64)
    for first in range(0, len(numbers), BLOCK):
        rows = places[first : first + BLOCK]
        ways = np.where(drives[np.ix_(rows, places)] < 0, np.int64(FAR), drives[np.ix_(rows, places)])
        ways[np.arange(len(rows)), first + np.arange(len(rows))] = FAR
        near[first : first + BLOCK] = np.argpartition(ways, count - 1, axis=1)[:, :count] if count else 0
    seconds, worth = worth_of(problem, numbers)
    ranks = np.array([problem.tasks[task].rank for task in numbers.tolist()])
    return Nearness(numbers, near, _angles(drives, places), np.lexsort((numbers, -worth, ranks)), seconds)


def _angles(drives: NDArray[np.int64], places: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the direction of each place from base: on the plane that its drives to some landmarks vary most along."""
    marks = places[np.linspace(0, len(places) - 1, min(LANDMARKS, len(places))).astype(int)]
    known = drives[marks][:, [0, *places.tolist()]].astype(float).T
    known = np.where(known < 0, known.max(initial=0), known)
    centred = known - known[0]
    _, _, axes = np.linalg.svd(centred - centred.mean(axis=0), full_matrices=False)
    flat = np.zeros((len(known), 2))
    flat[:, : min(2, len(axes))] = centred @ axes[:2].T
    return np.arctan2(flat[1:, 1], flat[1:, 0])


@dataclass(frozen=True)
class Group:
    """Crew-days that are planned together, and the tasks that these may do, both rising."""

    routes: tuple[int, ...]
    tasks: tuple[int, ...]


def first_groups(problem: Problem, known: Nearness, routes_a_part: int = ROUTES_A_PART) -> list[Group]:
    """Return groups to begin with: sectors around base with about as much to do each, and crew-days of every kind."""
    count = max(1, round(len(problem.routes) / routes_a_part))
    around = np.argsort(known.angles, kind="stable")
    done = np.cumsum(known.seconds[around])
    sector = np.minimum((done - known.seconds[around] / 2) * count // max(1, int(done[-1])), count - 1)
    by_day = sorted(range(len(problem.routes)), key=lambda number: (problem.routes[number].day, number))
    return [
        Group(
            tuple(sorted(by_day[number::count])),
            tuple(sorted(known.tasks[around[sector == number]].tolist())),
        )
        for number in range(count)
    ]


def next_groups(problem: Problem, known: Nearness, orders: Orders, seed: int) -> list[Group]:
    """Return groups of near crew-days, each in one of them, with what they do and what is left out near it."""
    dice = np.random.default_rng(seed)
    position = {task: number for number, task in enumerate(known.tasks.tolist())}
    route_of = np.full(len(known.tasks), -1)
    sizes = []
    for route, order in enumerate(orders):
        mine = [position[task] for task in sorted(served((order,)))]
        route_of[mine] = route
        sizes.append(len(mine))
    related = _related(route_of, known.near, len(orders))
    free = [route for route in range(len(orders)) if sizes[route]]
    dice.shuffle(free)
    groups: list[list[int]] = []
    while free:
        group = [free.pop(0)]
        pull = related[group[0]].copy()
        room = TASKS_A_PART - sizes[group[0]]
        while free and len(group) < ROUTES_A_PART:
            best = max(free, key=lambda route: pull[route])
            if not pull[best] or sizes[best] > room:
                break
            free.remove(best)
            group.append(best)
            pull, room = pull + related[best], room - sizes[best]
        groups.append(group)
    empty = [route for route in range(len(orders)) if not sizes[route]]
    dice.shuffle(empty)
    for number, route in enumerate(empty[: len(groups)]):
        groups[number].append(route)
    return _with_tasks(problem, known, groups, route_of)


def _related(route_of: NDArray[np.int64], near: NDArray[np.int64], routes: int) -> NDArray[np.int64]:
    """Return of each two routes how many pairs of neighbours they serve between them, shape (routes, routes)."""
    one = np.repeat(route_of, near.shape[1])
    other = route_of[near].ravel()
    both = (one >= 0) & (other >= 0)
    counts = np.bincount(one[both] * routes + other[both], minlength=routes * routes).reshape(routes, routes)
    return np.asarray(counts + counts.T)


def _with_tasks(
    problem: Problem, known: Nearness, groups: Sequence[Sequence[int]], route_of: NDArray[np.int64]
) -> list[Group]:
    """Return the groups with what they serve, and with what is left out where most of its neighbours are served."""
    group_of_route = np.full(len(problem.routes) + 1, -1)  # the last is that of no route
    for number, group in enumerate(groups):
        group_of_route[list(group)] = number
    group_of = group_of_route[route_of]
    tasks = [known.tasks[group_of == number].tolist() for number in range(len(groups))]
    room = [max(LEAST_LEFT, round(LEFT_SHARE * len(mine))) for mine in tasks]
    for left in known.worth[route_of[known.worth] < 0]:
        around = group_of[known.near[left]]
        counts = np.bincount(around[around >= 0], minlength=len(groups)) * (np.array(room) > 0)
        best = int(np.argmax(counts)) if len(groups) else 0
        if len(groups) and counts[best]:
            tasks[best].append(int(known.tasks[left]))
            room[best] -= 1
    return [Group(tuple(sorted(group)), tuple(sorted(mine))) for group, mine in zip(groups, tasks, strict=True)]
