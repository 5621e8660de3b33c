"""Measure the planning; `python -m tests.benchmarks.run WHAT` prints one table.

WHAT is `engines`, `routes` (published, needs the folder of instances), `orienteering` (the same), `large`, `day`, `choice`,
`proofs` or `near`.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from unittest.mock import patch

from routing.planning.arrays import plan_arrays
from routing.planning.bounds.column_generation import bounds
from routing.planning.bounds.restricted_master import Effort
from routing.planning.exact import crew_day as day_of_walks
from routing.planning.exact.cp_sat import best_day
from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.vroom import Vroom
from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import NO_LIMIT, RANKS, rank_score
from routing.planning.model.route_pool import RoutePool
from routing.planning.search.incumbent import measure
from routing.planning.search.insertion import construct, fill
from routing.planning.search.repair import repaired
from routing.planning.search.solve import solve
from tests.benchmarks.published import orienteering, solomon
from tests.farm_rounds import farm_round, mixed_round
from tests.planning.ortools_engine import OrTools

SIZES = {12: (2, 2), 30: (4, 3), 60: (8, 5), 150: (20, 8), 250: (30, 10), 400: (40, 20)}
"""Visits: seconds for everyone, crew-days of the tight round (the roomy one has twice as many)."""

SEED = 7
LEAST_MANY = 150
"""Visits from which together is to be better on average."""

PUBLISHED = Path(os.environ.get("PUBLISHED", Path(__file__).parents[3] / "shared" / "data" / "published"))
"""The folder of published instances, with `vrptw` and `orienteering` in it; the environment may name another."""

OPTIMAL_SCORES = {
    "c101": 320, "c102": 360, "c103": 400, "c104": 420, "c105": 340, "c106": 340, "c107": 370, "c108": 370, "c109": 380,
    "r101": 198, "r102": 286, "r103": 293, "r105": 247, "r106": 293, "r107": 299, "r109": 277, "r110": 284, "r111": 297,
    "r112": 298, "rc101": 219, "rc102": 266, "rc103": 266, "rc104": 301, "rc105": 244, "rc106": 252, "rc107": 277,
    "rc108": 298,
}  # fmt: skip
"""One route. Source: G. Righini, M. Salani, Computers & Operations Research 36 (2009)."""

BEST_COSTS = {"C101": 827.3, "R101": 1637.7, "RC101": 1619.8, "RC201": 1261.8, "RC202": 1092.3}
"""Truncated to one decimal: the `Cost` lines of the instances' solution files."""


def main(what: str, *names: str) -> None:
    """Print one table with the versions and the machine that it was measured on."""
    libraries = ", ".join(f"{name} {version(name)}" for name in ("pyvrp", "pyvroom", "ortools", "numpy"))
    print(f"{libraries}; Python {sys.version.split()[0]}; {machine()}; {time.strftime('%Y-%m-%d')}\n")
    tables: dict[str, Callable[..., None]] = {
        "engines": engines, "routes": routes, "orienteering": orienteers, "large": large, "day": day, "proofs": proofs,
        "near": near, "choice": choice,
    }  # fmt: skip
    tables[what](*names)


def machine() -> str:
    lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    models = [line.split(":")[1].strip() for line in lines if line.startswith("model name")]
    busy = Path("/proc/loadavg").read_text(encoding="utf-8").split()[0]
    return f"{len(models)} cores of {models[0]}, shared with other work (load {busy} at the start)"


def engines(*sizes: str) -> None:
    """Compare every engine alone, mended, with the search that has them all, at equal wall time.

    A size is a count of visits, or visits:seed of the round that is drawn, or visits:seed:mixed for one with what a farm
    has besides. More is better in the last column. The average counts no gains of `passing`: one small job may double it.
    """
    print("| visits | seed | crew-days | | seconds | | must, want, passing | hours away | against the best other |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    alone: dict[str, Engine] = {"PyVRP": PyVRP(), "VROOM": Vroom(), "OR-Tools": OrTools()}
    solve(farm_round(SEED, 31, 2, 2), frozenset(range(31)), seconds=2, prove=False)  # compiles, once
    gains = []
    for size in sizes or map(str, SIZES):
        parts = size.split(":")
        visits, seed = int(parts[0]), int(parts[1]) if len(parts) > 1 else SEED
        mixed = parts[2:] == ["mixed"]
        seconds, tight = SIZES[visits]
        for crew_days in (tight, 2 * tight):
            days = 5 if crew_days % 5 == 0 else 2 if crew_days % 2 == 0 else 3
            problem = (mixed_round if mixed else farm_round)(seed, visits, days, crew_days // days)
            tasks = frozenset(range(visits))
            order_costs = OrderCosts(problem)
            scores = {}
            for name, engine in alone.items():
                limit = Limit(10**9, deadline=time.monotonic() + seconds)
                scores[name] = measure(order_costs, repaired(order_costs, engine(Ask(problem, tasks, limit))))
            best = max(scores.values())
            scores["together"] = measure(order_costs, solve(problem, tasks, seconds=seconds, prove=False).orders)
            if visits >= LEAST_MANY:
                gain, of = _gain(scores["together"], best)
                gains.append(0.0 if of == "of passing" else gain)
            for name, score in scores.items():
                note = "{:+.2f} % {}".format(*_gain(score, best)) if name == "together" else ""
                ranks = ", ".join(map(str, score[:RANKS]))
                kind = "mixed" if mixed else ""
                row = (visits, seed, crew_days, kind, seconds, name, ranks, f"{-score[RANKS] / 3600:.2f}", note)
                print("|", " | ".join(map(str, row)), "|", flush=True)
    if gains:
        print(
            f"\nFrom {LEAST_MANY} visits: {sum(gains) / len(gains):+.2f} % on average of {len(gains)} rounds; of passing is counted as none."
        )


def _gain(ours: tuple[int, ...], best: tuple[int, ...]) -> tuple[float, str]:
    """Return by how many per cent the first that differs is better, and what that is: a rank's weight, or the time."""
    for rank, mine, other in zip(("must", "want", "passing"), ours, best, strict=False):
        if mine != other:
            return 100 * (mine - other) / max(1, other), f"of {rank}"
    return 100 * (ours[RANKS] - best[RANKS]) / -best[RANKS] if best[RANKS] else 0.0, "of the time"


def routes(*names: str) -> None:
    """Compare with the best known costs in 30 seconds."""
    print("| instance | vehicles | distance | best known | gap |\n| --- | --- | --- | --- | --- |")
    for name in names or BEST_COSTS:
        given = solomon(PUBLISHED / "vrptw" / f"{name}.txt")
        plan = plan_arrays(
            given.travel,
            given.work,
            given.windows,
            shift=(0, given.closing),
            crews=given.vehicles,
            loads=given.loads,
            capacity=given.capacity,
            distance_first=True,
            seconds=30,
        )
        best = BEST_COSTS[name]
        found = f"{plan.metres / 10:.1f}" if not plan.left_out else f"{len(plan.left_out)} left out"
        print(
            f"| {name} | {len(plan.routes)} | {found} | {best} | {100 * (plan.metres / 10 / best - 1):+.2f} % |",
            flush=True,
        )


def orienteers(*names: str) -> None:
    """Compare with the optimal scores of one route in 30 seconds."""
    print("| instance | score | optimal | proven bound | seconds |\n| --- | --- | --- | --- | --- |")
    for name in names or OPTIMAL_SCORES:
        given = orienteering(PUBLISHED / "orienteering" / f"{name}.txt")
        begun = time.monotonic()
        plan = plan_arrays(
            given.travel, given.work, given.windows, shift=(0, given.closing), prizes=given.scores, seconds=30
        )
        took = f"{time.monotonic() - begun:.1f}"
        print(f"| {name} | {plan.served[0]} | {OPTIMAL_SCORES[name]} | {plan.served_bounds[0]} | {took} |", flush=True)


def large() -> None:
    """Plan 1,000 visits with 8 crews on 10 days in 120 seconds."""
    problem = farm_round(1, 1000, 10, 8)
    begun = time.monotonic()
    told: list[float] = []
    solution = solve(
        problem, frozenset(range(1000)), seconds=120, progress=lambda _: told.append(time.monotonic() - begun)
    )
    score = measure(OrderCosts(problem), solution.orders)
    print("| visits | crew-days | seconds | first orders after | must, want, passing | hours away |")
    print("| --- | --- | --- | --- | --- | --- |")
    ranks = ", ".join(map(str, score[:RANKS]))
    took = time.monotonic() - begun
    print(f"| 1000 | 80 | {took:.1f} | {told[0]:.1f} | {ranks} | {-score[RANKS] / 3600:.2f} |")


def proofs(count: str = "4") -> None:
    """Bound rounds of 60 visits over 4 days, the repeatable way."""
    print("| seed | must, want, passing | bounds | of | hours away | bound | gap | seconds |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for seed in range(int(count)):
        problem = farm_round(seed, 60, 4, 1)
        begun = time.monotonic()
        solution = solve(problem, frozenset(range(60)))
        took = time.monotonic() - begun
        score = measure(OrderCosts(problem), solution.orders)
        whole = rank_score(problem, frozenset(range(60)))
        texts = [", ".join(map(str, values)) for values in (score[:RANKS], solution.rank_bounds, whole)]
        away, bound = -score[RANKS] / 3600, solution.away_bound / 3600
        print(
            f"| {seed} | {' | '.join(texts)} | {away:.2f} | {bound:.2f} | {100 * (1 - bound / away):.2f} % | {took:.0f} |",
            flush=True,
        )


def near(*sizes: str) -> None:
    """Bound what PyVRP does in ten seconds on the rounds of 150 visits and more, the repeatable way."""
    print("| visits | crew-days | must, want, passing | bounds | hours away | bound | gap | seconds |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for visits in map(int, sizes or ("150", "250", "400")):
        for crew_days in (SIZES[visits][1], 2 * SIZES[visits][1]):
            days = 5 if crew_days % 5 == 0 else 2
            problem = farm_round(7, visits, days, crew_days // days)
            tasks = frozenset(range(visits))
            order_costs = OrderCosts(problem)
            pool = RoutePool(order_costs)
            limit = Limit(10**9, deadline=time.monotonic() + 10)
            orders = fill(
                order_costs, repaired(order_costs, PyVRP()(Ask(problem, tasks, limit, None, pool.add))), tasks
            )
            score = measure(order_costs, orders)
            begun = time.monotonic()
            bound = bounds(problem, tasks, orders, Effort(60), pool)
            took = time.monotonic() - begun
            texts = [", ".join(map(str, values)) for values in (score[:RANKS], bound.ranks)]
            away, least = -score[RANKS] / 3600, bound.cost / 3600
            print(
                f"| {visits} | {crew_days} | {' | '.join(texts)} | {away:.2f} | {least:.2f} | "
                f"{100 * (1 - least / away):.2f} % | {took:.0f} |",
                flush=True,
            )


def day(count: str = "15") -> None:
    """Prove one crew-day of 30 visits."""
    seconds, cores, proven = [], [], 0
    for seed in range(int(count)):
        problem = farm_round(seed, 30)
        tasks = frozenset(range(30))
        begun, used = time.monotonic(), time.process_time()
        start = construct(OrderCosts(problem), tasks)
        proven += best_day(problem, 0, tasks, [NO_LIMIT], start[0]).proven
        seconds.append(time.monotonic() - begun)
        cores.append(time.process_time() - used)
    print("| days of 30 visits | proven | median s | largest s | median core s | largest core s |")
    print("| --- | --- | --- | --- | --- | --- |")
    columns = [statistics.median(seconds), max(seconds), statistics.median(cores), max(cores)]
    print(f"| {count} | {proven} | " + " | ".join(f"{value:.2f}" for value in columns) + " |")


def choice(*sizes: str) -> None:
    """Plan one crew-day of many candidates as usual, and side by side without walks; what counts is the ratio."""
    print("| visits | seed | | must, want, passing | hours away | proven | seconds |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    day_of_walks.get_ready()
    for visits in map(int, sizes or ("40", "60", "80")):
        for seed in range(4):
            problem = farm_round(seed, visits)
            for name, walked in (("walks", day_of_walks.walked_day), ("without", lambda *_: None)):
                with patch.object(day_of_walks, "walked_day", walked):
                    begun = time.monotonic()
                    solution = solve(problem, frozenset(range(visits)))
                    took = time.monotonic() - begun
                score = measure(OrderCosts(problem), solution.orders)
                ranks, proven = ", ".join(map(str, score[:RANKS])), "yes" if solution.proven else "no"
                row = (visits, seed, name, ranks, f"{-score[RANKS] / 3600:.2f}", proven, f"{took:.1f}")
                print("|", " | ".join(map(str, row)), "|", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
