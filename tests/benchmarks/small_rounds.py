"""Small rounds of several crew-days with and without closing, and each engine alone for as long as the usual plan took.

`python -m tests.benchmarks.small_rounds 3` prints a table of so many seeds a row. Seconds are of the processor, because
others share the machine; engines alone have the seconds by the clock that the usual plan took.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.vroom import Vroom
from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.problem import Problem
from routing.planning.search import closing
from routing.planning.search.incumbent import Incumbent, measure
from routing.planning.search.solution import Solution
from routing.planning.search.solve import solve
from tests.benchmarks.run import machine
from tests.farm_rounds import farm_round

ROUNDS = (
    ("tight", 25, 1, 2),
    ("tight", 30, 1, 3),
    ("tight", 40, 2, 2),
    ("roomy", 25, 3, 1),
    ("roomy", 28, 5, 1),
    ("roomy", 30, 2, 2),
    ("roomy", 40, 5, 1),
)
"""Light that holds all or not, visits, days and crews."""


def timed(problem: Problem, *, closes: bool) -> tuple[Solution, float, float]:
    """Return what the usual plan comes to with or without closing, and its seconds of the processor and by the clock."""
    usual: Callable[..., bool] = closing.may_be_closed
    begun, clock = time.process_time(), time.monotonic()
    closing.may_be_closed = usual if closes else lambda *_: False
    try:
        solution = solve(problem, frozenset(range(len(problem.tasks))))
    finally:
        closing.may_be_closed = usual
    return solution, time.process_time() - begun, time.monotonic() - clock


def alone(engine: Engine, problem: Problem, seconds: float) -> tuple[int, ...]:
    """Return the measure of what an engine alone comes to in so many seconds by the clock, mended and filled by us."""
    incumbent = Incumbent(problem, frozenset(range(len(problem.tasks))), None)
    limit = Limit(10**9, 1, time.monotonic() + seconds)
    incumbent.offer(engine(Ask(problem, incumbent.tasks, limit)))
    return measure(incumbent.order_costs, incumbent.orders)


def main(seeds: int) -> None:
    """Print one row for each size."""
    print(f"Python {sys.version.split()[0]}; {machine()}; {time.strftime('%Y-%m-%d')}; {seeds} seeds a row\n")
    print(
        "| light | visits | days x crews | before: proven | s | now: proven | s | no worse than before | than PyVRP "
        "| than VROOM |"
    )
    print("| --- " * 10 + "|")
    timed(farm_round(9, 20, 2), closes=True)  # what is compiled at its first call
    for light, visits, days, crews in ROUNDS:
        proven, spent, no_worse = [0, 0], [0.0, 0.0], [0, 0, 0]
        for seed in range(1, seeds + 1):
            problem = farm_round(seed, visits, days, crews)
            costs = Incumbent(problem, frozenset(range(visits)), None).order_costs
            now, seconds, clock = timed(problem, closes=True)
            before, longer, _ = timed(problem, closes=False)
            ours = measure(costs, now.orders)
            others = (measure(costs, before.orders), *(alone(e, problem, clock) for e in (PyVRP(), Vroom())))
            no_worse = [many + (ours >= other) for many, other in zip(no_worse, others, strict=True)]
            proven = [proven[0] + before.proven, proven[1] + now.proven]
            spent = [spent[0] + longer, spent[1] + seconds]
        row = (light, visits, f"{days} x {crews}", proven[0], f"{spent[0] / seeds:.1f}", proven[1])
        print("|", " | ".join(map(str, (*row, f"{spent[1] / seeds:.1f}", *no_worse))), "|", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
