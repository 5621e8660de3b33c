"""Bounds of rounds whose visits compete for the light, by this version and by another: the same orders, the same work.

    python -m tests.benchmarks.light_bounds [--beside CHECKOUT] [--keep FOLDER] [--seconds S] [VISITS:DAYS:CREWS:SECONDS ...]

Each round is planned for so many seconds, once; then each version bounds what was found with the work of a usual plan, in
a process of its own, after it has bounded a small round, so that what is compiled is ready. No clock ends it, so only the
seconds depend on the machine; unless `--seconds` gives the bounds so long by the clock, which then is all that ends them.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from routing.planning.bounds.column_generation import bounds
from routing.planning.bounds.restricted_master import Effort
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Orders, Planned, Problem, rank_score, served
from routing.planning.model.route_pool import RoutePool
from routing.planning.search.incumbent import measure
from routing.planning.search.solve import solve
from tests.benchmarks.run import machine
from tests.farm_rounds import farm_round

ROUNDS = ("60:5:1:20", "60:4:1:20", "150:5:2:60", "150:2:4:60", "400:5:4:100")
SEED = 7


def main() -> None:
    """Print one row a round and version."""
    parser = argparse.ArgumentParser()
    parser.add_argument("rounds", nargs="*", default=ROUNDS)
    parser.add_argument("--beside", type=Path)
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()))
    parser.add_argument("--bound", type=Path, help="bound the orders in this file, and print what was found")
    parser.add_argument("--seconds", type=float, help="bound until then by the clock")
    args = parser.parse_args()
    if args.bound:
        print(json.dumps(bounded(args.rounds[0], args.bound, args.seconds)))
        return
    print(f"Python {sys.version.split()[0]}; {machine()}; {time.strftime('%Y-%m-%d')}\n")
    print("| round | version | served | bound | gap | of | time away, s | bound | gap | seconds | of the processor |")
    print("| --- " * 11 + "|")
    for name in args.rounds:
        kept = args.keep / f"light_bounds_{name.replace(':', '_')}.json"
        if not kept.exists():
            kept.write_text(json.dumps(planned(name)), encoding="utf-8")
        for checkout in (args.beside, Path.cwd()) if args.beside else (Path.cwd(),):
            timed = [] if args.seconds is None else ["--seconds", str(args.seconds)]
            command = [sys.executable, __file__, "--bound", str(kept), *timed, name]
            done = subprocess.run(
                command, env={**os.environ, "PYTHONPATH": str(checkout)}, check=True, capture_output=True, text=True
            )
            print(row(name, "before" if checkout == args.beside else "now", json.loads(done.stdout)), flush=True)


def drawn(name: str) -> Problem:
    """Return the round of a name."""
    visits, days, crews, _ = map(int, name.split(":"))
    return farm_round(SEED, visits, days, crews)


def planned(name: str) -> list[list[tuple[int, tuple[int, ...]]]]:
    """Return orders of the round, stop by stop: the visit and its tasks."""
    problem = drawn(name)
    tasks = frozenset(range(len(problem.tasks)))
    orders = solve(problem, tasks, seconds=float(name.rsplit(":", maxsplit=1)[-1]), prove=False).orders
    return [[(stop.visit, stop.tasks) for stop in order] for order in orders]


def bounded(name: str, file: Path, seconds: float | None) -> list[float]:
    """Return what is served of the first rank that is not served whole, its bound, its whole, and the same of time."""
    small = farm_round(1, 40, 2, 1)
    bounds(small, frozenset(range(40)), ((), ()), Effort(1))
    problem = drawn(name)
    tasks = frozenset(range(len(problem.tasks)))
    found = json.loads(file.read_text(encoding="utf-8"))
    orders: Orders = tuple(tuple(Planned(visit, tuple(some)) for visit, some in order) for order in found)
    pool = RoutePool(OrderCosts(problem))
    pool.add_all(orders)
    whole, reached = rank_score(problem, tasks), rank_score(problem, served(orders))
    rank = next((rank for rank in range(RANKS) if reached[rank] < whole[rank]), 0)
    begun, used = time.monotonic(), time.process_time()
    bound = bounds(problem, tasks, orders, Effort(60, None if seconds is None else begun + seconds), pool)
    took = [time.monotonic() - begun, time.process_time() - used]
    away = -measure(OrderCosts(problem), orders)[RANKS]
    return [reached[rank], bound.ranks[rank], whole[rank], away, bound.cost, *took]


def row(name: str, version: str, values: list[float]) -> str:
    """Return a line of the table."""
    got, most, whole, away, least, wall, used = values
    return (
        f"| {name} | {version} | {got:.0f} | {most:.0f} | {100 * (most / got - 1):.1f} % | {whole:.0f} | {away:.0f} | "
        f"{least:.0f} | {100 * (1 - least / away):.1f} % | {wall:.0f} | {used:.0f} |"
    )


if __name__ == "__main__":
    main()
