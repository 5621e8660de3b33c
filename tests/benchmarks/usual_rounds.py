"""The usual plan of rounds of 25 to 60 visits beside each engine alone with as many seconds of the processor.

    python -m tests.benchmarks.usual_rounds FILE [--seeds FIRST LAST] [--rows NUMBER ...] [--engines NAME ...]

One line of JSON a round is added to FILE, so that it may be run in pieces and several at a time; without --seeds the table
of what FILE holds is printed. The usual plan works in one process here, and engines end by the processor's seconds (VROOM
by itself, OR-Tools by the clock), so that other work on the machine changes little but the last.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from routing.planning.heuristics.hybrid_genetic import HybridGenetic
from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.ruin_recreate import RuinRecreate
from routing.planning.heuristics.vroom import Vroom
from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.problem import Problem, rank_score, served
from routing.planning.search.incumbent import Incumbent, measure
from routing.planning.search.solve import solve
from tests.benchmarks.run import machine
from tests.farm_rounds import farm_round
from tests.planning.ortools_engine import OrTools

ROWS = (
    ("tight", 25, 1, 2),
    ("tight", 30, 1, 3),
    ("tight", 40, 2, 2),
    ("tight", 50, 1, 4),
    ("tight", 60, 1, 5),
    ("roomy", 25, 3, 1),
    ("roomy", 40, 5, 1),
    ("roomy", 60, 5, 2),
)
"""Light that holds all or not, visits, days and crews."""

ENGINES: dict[str, tuple[Engine, bool]] = {
    "PyVRP": (PyVRP(), False),
    "PyVRP saving light": (PyVRP(), True),
    "VROOM": (Vroom(), False),
    "ruin and recreate": (RuinRecreate(), False),
    "hybrid genetic": (HybridGenetic(), False),
    "OR-Tools": (OrTools(), False),
}
"""Each with whether it is asked to save light."""


@dataclass(frozen=True)
class ByProcessor(Limit):
    """Ends when this process has had so many seconds of the processor."""

    until: float = 0.0

    def over(self, _iterations: int) -> bool:
        """Return whether they are had."""
        return time.process_time() >= self.until

    def seconds_left(self) -> float | None:
        """Return what is left of them."""
        return max(0.0, self.until - time.process_time())


def alone(name: str, problem: Problem, seconds: float) -> tuple[int, ...]:
    """Return the measure of what an engine comes to by itself in so many seconds, mended and filled by us."""
    engine, scarce = ENGINES[name]
    incumbent = Incumbent(problem, frozenset(range(len(problem.tasks))), None)
    limit = ByProcessor(10**9, deadline=time.monotonic() + 10**6, until=time.process_time() + seconds)
    incumbent.offer(engine(Ask(problem, incumbent.tasks, limit, scarce=scarce)))
    return measure(incumbent.order_costs, incumbent.orders)


def compared(row: int, seed: int, engines: Sequence[str]) -> dict[str, object]:
    """Return one round's measures by name, its bound by rank and the seconds that the usual plan took."""
    light, visits, days, crews = ROWS[row]
    problem = farm_round(seed, visits, days, crews)
    tasks = frozenset(range(visits))
    begun, clock = time.process_time(), time.monotonic()
    found = solve(problem, tasks)
    seconds, clock = time.process_time() - begun, time.monotonic() - clock
    costs = Incumbent(problem, tasks, None).order_costs
    measures = {"usual": measure(costs, found.orders)}
    for name in engines:
        if not ENGINES[name][1] or served(found.orders) != tasks:
            measures[name] = alone(name, problem, seconds)
    reached = rank_score(problem, served(found.orders))
    return {
        "row": row, "light": light, "seed": seed, "seconds": seconds, "clock": clock, "proven": found.proven,
        "bound": list(found.rank_bounds), "reached": list(reached), "away_bound": found.away_bound, "measures": measures,
    }  # fmt: skip


def told(path: Path) -> None:
    """Print the table."""
    rounds = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    names = ", ".join(f"{name} {version(name)}" for name in ("pyvrp", "pyvroom", "ortools", "numba", "numpy"))
    print(f"Python {sys.version.split()[0]}, {names}; {machine()}; {time.strftime('%Y-%m-%d')}\n")
    print("| light | visits | days x crews | rounds | proven | s, middle | s, most |", " | ".join(ENGINES), "|")
    print("| --- " * (7 + len(ENGINES)) + "|")
    for row, (light, visits, days, crews) in enumerate(ROWS):
        here = [each for each in rounds if each["row"] == row]
        if not here:
            continue
        seconds = sorted(each["seconds"] for each in here)
        cells = []
        for name in ENGINES:
            signs = [
                (each["measures"]["usual"] > each["measures"][name])
                - (each["measures"]["usual"] < each["measures"][name])
                for each in here
                if name in each["measures"]
            ]
            cells.append(f"{signs.count(1)} {signs.count(0)} {signs.count(-1)}")
        proven = sum(each["proven"] for each in here)
        middle, most = seconds[len(seconds) // 2], seconds[-1]
        facts = (light, visits, f"{days} x {crews}", len(here), proven, f"{middle:.1f}", f"{most:.1f}", *cells)
        print("|", " | ".join(map(str, facts)), "|")
    print("\nFor each engine alone: rounds on which the usual plan is better, equal, worse.")


def main() -> None:
    """Measure, or print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("file", type=Path)
    parser.add_argument("--seeds", type=int, nargs=2)
    parser.add_argument("--rows", type=int, nargs="*", default=range(len(ROWS)))
    parser.add_argument("--engines", nargs="*", choices=ENGINES, default=list(ENGINES))
    given = parser.parse_args()
    if given.seeds is None:
        told(given.file)
        return
    solve(farm_round(9, 36, 2), frozenset(range(36)), work=1)  # what is compiled at its first call
    for seed in range(given.seeds[0], given.seeds[1] + 1):
        for row in given.rows:
            line = json.dumps(compared(row, seed, given.engines))
            with given.file.open("a", encoding="utf-8") as file:
                file.write(line + "\n")


if __name__ == "__main__":
    main()
