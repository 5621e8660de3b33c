"""The least that given tasks can cost however they are shared out: quick, valid for any size, and not near."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from routing.planning.problem import Problem

FAR = 2**40
"""Stands for no way; more than any way takes."""


def least_cost(problem: Problem, tasks: frozenset[int]) -> int:
    """Return seconds away (metres, where these come first) that no orders of all these tasks can be under.

    The drives of all routes together join every place of the tasks with the base; work and one walk and set-up a place
    come on top. Waits, breaks, hours and loads are left out.
    """
    places = sorted({visit.place for visit in problem.visits if not tasks.isdisjoint(visit.tasks)})
    driving = least_joining(problem, (0, *places))
    return driving if problem.distance_first else driving + least_work(problem, tasks)


def least_joining(problem: Problem, places: Sequence[int], trees: int = 1) -> int:
    """Return the least seconds (metres, where these come first) of drives that join these places, in so many trees.

    A least spanning forest, each pair at the shorter of its two directions and by the vehicle that does it best, by way
    of base where a crew may load there.
    """
    # It takes a quarter of a second to import: only a bound that is asked for pays.
    import networkx as nx  # noqa: PLC0415

    arrays = {
        id(drives): drives
        for route in problem.carefree.routes
        for drives in (route.drive_metres if problem.distance_first else route.drive_seconds,)
    }
    ways = np.full((len(places), len(places)), FAR, dtype=np.int64)
    for drives in arrays.values():
        there = drives[np.ix_(places, places)]
        ways = np.minimum(ways, np.where(there < 0, FAR, there))
    least = np.minimum(ways, ways.T).tolist()
    graph = nx.Graph()
    graph.add_nodes_from(range(len(places)))
    graph.add_weighted_edges_from(
        (here, there, way) for here, row in enumerate(least) for there, way in enumerate(row[:here]) if way < FAR
    )
    edges = sorted(facts["weight"] for _, _, facts in nx.minimum_spanning_edges(graph))
    return sum(edges[: max(0, len(edges) - trees + 1)])


def least_work(problem: Problem, tasks: frozenset[int]) -> int:
    """Return the least seconds at the places of these tasks: a walk, a set-up each, the work of the quickest crew."""
    here: dict[int, set[int]] = {}
    walks: dict[int, int] = {}
    for visit in problem.visits:
        mine = tasks.intersection(visit.tasks)
        if mine:
            here.setdefault(visit.place, set()).update(mine)
            walks[visit.place] = min(walks.get(visit.place, visit.walk_seconds), visit.walk_seconds)
    quickest = np.min(
        [np.where(route.allowed, route.work_seconds, FAR) for route in problem.routes], axis=0, initial=FAR
    )
    return sum(
        walks[place]
        + max(problem.tasks[task].set_up_seconds for task in mine)
        + sum(int(quickest[task]) for task in mine)
        for place, mine in here.items()
    )
