"""What rounds of 100 to 5,000 visits cost: `python -m tests.benchmarks.by_size 100 200 1000:80 5000:100`.

A size is a count of visits, and its crew-days after a colon; without, a crew-day for every twelve visits, which is about
what one holds. Every round is drawn from a seed and planned in a process of its own, the repeatable way, so that its
memory is known: the most that it had at once, and for each process beside it as much as the largest of these had.
`--seconds 60` plans by the clock, `--whole` searches without parts, as all rounds once were, `--workers 1 2 4` plans
each round with so many processes in turn, 0 being none but its own.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import time
from concurrent.futures import Executor
from importlib.metadata import version
from unittest.mock import patch

from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS
from routing.planning.running.parts import Here, Parts, cores
from routing.planning.running.processes import Processes
from routing.planning.search import solve as solving
from routing.planning.search.incumbent import measure
from tests.benchmarks.run import machine
from tests.farm_rounds import farm_round
from tests.large_rounds import large_round

VISITS_A_DAY, DAYS = 12, 5
SEED = 1


def planned(visits: int, crew_days: int, seconds: float | None, workers: int | None, *, whole: bool) -> str:
    """Plan one round in this process, and return its row."""
    problem = large_round(SEED, visits, DAYS, max(1, crew_days // DAYS))
    solving.solve(farm_round(SEED, 31, 2, 2), frozenset(range(31)), seconds=2, prove=False)  # compiles, once
    most = visits if whole else solving.MOST_WHOLE
    own: Executor | None = None if workers is None else Processes(workers) if workers else Here()
    begun = time.monotonic()
    with patch.object(solving, "MOST_WHOLE", most), Parts(own) as parts:
        tasks = frozenset(range(visits))
        found = solving.solve(problem, tasks, seconds=seconds, prove=seconds is None, parts=parts)
    took = time.monotonic() - begun
    if own is not None:
        own.shutdown()
    mine, theirs = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    beside = cores() if workers is None else workers
    memory = (mine.ru_maxrss + beside * theirs.ru_maxrss) / 1e6
    processor = sum(used.ru_utime + used.ru_stime for used in (mine, theirs))
    score = measure(OrderCosts(problem), found.orders)
    bounds = ", ".join(map(str, found.rank_bounds[: RANKS - 1]))
    served, away = ", ".join(map(str, score[: RANKS - 1])), f"{-score[RANKS] / 3600:.1f}"
    how = "whole" if whole else "as usual"
    row = (visits, len(problem.routes), how, "" if workers is None else workers, f"{took:.0f}", f"{processor:.0f}")
    return (
        f"| {' | '.join(map(str, row))} | {memory:.2f} | {served} | {bounds} | {away} | {found.away_bound / 3600:.1f} |"
    )


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", default=["100", "200", "400", "1000", "2000", "5000", "5000:100"])
    parser.add_argument("--seconds", type=float)
    parser.add_argument("--workers", type=int, nargs="*", default=[None])
    parser.add_argument("--whole", action="store_true")
    parser.add_argument("--row", action="store_true", help="one row, in this process")
    asked = parser.parse_args()
    if not asked.row:
        libraries = ", ".join(f"{name} {version(name)}" for name in ("pyvrp", "pyvroom", "ortools", "numpy", "numba"))
        print(f"{libraries}; Python {sys.version.split()[0]}; {machine()}; {time.strftime('%Y-%m-%d')}\n")
        print(
            "| visits | crew-days | | processes | seconds | of the processor | GB | must, want, passing | no more than "
            "| hours away | never less |\n|" + " --- |" * 11
        )
    for size in asked.sizes:
        visits, _, days = size.partition(":")
        crew_days = int(days) if days else max(DAYS, int(visits) // VISITS_A_DAY // DAYS * DAYS)
        for workers in asked.workers:
            if asked.row:
                row = planned(int(visits), crew_days, asked.seconds, workers, whole=asked.whole)
            else:
                words = [sys.executable, "-m", __spec__.name, f"{visits}:{crew_days}", "--row"]
                words += [] if asked.seconds is None else ["--seconds", str(asked.seconds)]
                words += [] if workers is None else ["--workers", str(workers)]
                words += ["--whole"] if asked.whole else []
                row = subprocess.run(words, capture_output=True, text=True, check=True).stdout.strip()
            print(row, flush=True)


if __name__ == "__main__":
    main()
