"""One long route: the whole search beside each engine alone, at equal wall time, against the best that is known.

`python -m tests.benchmarks.long_routes 20` prints a table at so many seconds each; `... 60 best 3` the best that comes of
each engine and of the whole search in so long with so many seeds. Days are drawn by `tests/long_days.py`; names of days may follow.
"""

from __future__ import annotations

import sys
import time
from importlib.metadata import version

from routing.planning.exact.crew_day import get_ready
from routing.planning.heuristics.beam import BeamSearch
from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.route_annealing import RouteAnnealing
from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.problem import RANKS, Problem
from routing.planning.search.incumbent import Incumbent, measure
from routing.planning.search.solve import solve
from tests.benchmarks.run import machine
from tests.long_days import long_day, summer_day

DAYS = (
    "c2 half", "c2 wide", "c2 none", "r2 narrow", "r2 half", "r2 wide", "r2 none", "rc2 half", "rc2 wide", "rc2 none",
    "summer 60", "summer 80", "summer 100", "loaded 80",
)  # fmt: skip

ALONE: dict[str, Engine] = {"PyVRP": PyVRP(), "beam": BeamSearch(), "annealing": RouteAnnealing()}

Measure = tuple[int, ...]
"""Weight by rank, and below zero seconds away and metres; larger is better."""


def day(name: str) -> Problem:
    """Return a day of `DAYS`."""
    kind, sort = name.split()
    if kind in {"summer", "loaded"}:
        return summer_day(1, int(sort), loads=kind == "loaded")
    return long_day(kind, sort)


def alone(engine: Engine, problem: Problem, seconds: float, seed: int = 1) -> Measure:
    """Return what an engine alone comes to in so many seconds by the clock, mended and filled by us."""
    incumbent = Incumbent(problem, frozenset(range(len(problem.tasks))), None)
    limit = Limit(10**9, seed, time.monotonic() + seconds)
    incumbent.offer(engine(Ask(problem, incumbent.tasks, limit)))
    return measure(incumbent.order_costs, incumbent.orders)


def together(problem: Problem, seconds: float | None, seed: int = 1) -> Measure:
    """Return what the whole search comes to, in so many seconds or as the usual plan does."""
    tasks = frozenset(range(len(problem.tasks)))
    incumbent = Incumbent(problem, tasks, None)
    found = solve(problem, tasks, seconds=seconds, seed=seed)
    return measure(incumbent.order_costs, found.orders)


def told(reached: Measure) -> str:
    """Return the weights of the ranks there are, and the hours away."""
    return f"{'/'.join(str(weight) for weight in reached[:RANKS] if weight)} in {-reached[RANKS]:,}"


def table(seconds: float, names: tuple[str, ...]) -> None:
    """Print each day, side by side in one run."""
    print(f"| day | {' | '.join(ALONE)} | together | usual plan (s) |\n| --- |{' --- |' * (len(ALONE) + 2)}")
    for name in names or DAYS:
        problem = day(name)
        cells = [told(alone(engine, problem, seconds)) for engine in ALONE.values()]
        cells.append(told(together(problem, seconds)))
        begun = time.monotonic()
        usual = told(together(problem, None))
        print(f"| {name} | {' | '.join(cells)} | {usual} ({time.monotonic() - begun:.0f}) |", flush=True)


def best(seconds: float, seeds: int, names: tuple[str, ...]) -> None:
    """Print the best that any engine alone, or the whole search, comes to with any of the seeds."""
    print("| day | best known | by |\n| --- | --- | --- |")
    for name in names or DAYS:
        problem = day(name)
        found = [
            (alone(engine, problem, seconds, seed), by) for by, engine in ALONE.items() for seed in range(1, seeds + 1)
        ]
        found += [(together(problem, seconds, seed), "together") for seed in range(1, seeds + 1)]
        most, by = max(found)
        print(f"| {name} | {told(most)} | {by} |", flush=True)


def main(seconds: str, *more: str) -> None:
    """Print the versions and the machine, and a table."""
    libraries = ", ".join(f"{name} {version(name)}" for name in ("pyvrp", "ortools", "numba", "numpy"))
    print(f"{libraries}; Python {sys.version.split()[0]}; {machine()}; {time.strftime('%Y-%m-%d')}\n")
    get_ready()
    alone(ALONE["annealing"], day("r2 half"), 0.1)  # compiles, once
    if more[:1] == ("best",):
        best(float(seconds), int(more[1]), more[2:])
    else:
        table(float(seconds), more)


if __name__ == "__main__":
    main(*sys.argv[1:])
