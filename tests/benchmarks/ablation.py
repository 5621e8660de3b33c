"""What each engine is good for: it is left out, and the same rounds are planned again by the same work.

`python -m tests.benchmarks.ablation several` and `... one` print the tables of docs/how-good.md; a part's name after that
prints its row alone. No clock ends a run, so that the answers do not depend on the machine; how long they take does.
"""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from importlib.metadata import version
from unittest.mock import patch

from routing.planning.exact import cp_sat
from routing.planning.exact.day_answer import DayAnswer
from routing.planning.heuristics.beam import BeamSearch
from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.ruin_recreate import RuinRecreate
from routing.planning.heuristics.vroom import Vroom
from routing.planning.model.engine import Engine
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Problem, rank_score
from routing.planning.running.child_process import InChildProcess
from routing.planning.search import engines
from routing.planning.search.incumbent import Incumbent, measure
from routing.planning.search.polish import Polish
from routing.planning.search.solve import solve
from tests.benchmarks.run import machine
from tests.farm_rounds import farm_round

ROUNDS = {"several": ((20, 2, 1), (30, 2, 2), (36, 3, 1), (40, 2, 2)), "one": ((16, 1, 1), (24, 1, 1), (48, 1, 1))}
"""Visits, days and crews of each sort of round: several crew-days, tight and roomy, or one, which holds some of them."""

SEEDS = {"several": range(11, 17), "one": range(11, 19)}
"""So that there are 24 rounds of each sort."""

WORK = 0.5


class Hook:
    """Something to be put in the place of a part, so that it does nothing."""

    def __init__(self, where: object, name: str, instead: object) -> None:
        self.where, self.name, self.instead = where, name, instead


def without_engine(kind: type) -> list[Hook]:
    """Leave out one of the engines that propose, wherever another of them is left."""
    whole = engines.engines_for

    def rest(problem: Problem, count: int) -> tuple[Engine, ...]:
        found = whole(problem, count)
        kept = tuple(
            each for each in found if not isinstance(each.engine if isinstance(each, InChildProcess) else each, kind)
        )
        return kept or found

    return [Hook(engines, "engines_for", rest)]


def _no_circuit(self: cp_sat._ByCircuit, hint: Order) -> DayAnswer:
    """Answer as the circuit model that has found nothing and proven nothing."""
    return DayAnswer(hint, proven=False, rank_bounds=rank_score(self.problem, self.tasks), away_bound=0)


PARTS: dict[str, Callable[[], list[Hook]]] = {
    "PyVRP": lambda: without_engine(PyVRP),
    "VROOM": lambda: without_engine(Vroom),
    "ruin and recreate": lambda: without_engine(RuinRecreate),
    "hybrid genetic search": lambda: [Hook(engines, "genetic_for", lambda _problem, _count: None)],
    "set covering": lambda: [Hook(Incumbent, "recombine", lambda *_args, **_named: False)],
    "exact days": lambda: [Hook(Polish, "run", lambda *_args: None)],
    "beam search": lambda: without_engine(BeamSearch),
    "elementary labelling": lambda: [Hook(cp_sat, "LEAST_WALKED", 10**9)],
    "circuit model": lambda: [Hook(cp_sat._ByCircuit, "best", _no_circuit)],
}
ASKED = {
    "several": ("PyVRP", "VROOM", "ruin and recreate", "hybrid genetic search", "set covering", "exact days"),
    "one": ("PyVRP", "beam search", "elementary labelling", "circuit model"),
}
"""The parts that have something to do in each sort of round."""


@contextmanager
def left_out(part: str) -> Iterator[None]:
    """Leave a part out for a while."""
    with ExitStack() as stack:
        for hook in PARTS[part]() if part in PARTS else ():
            stack.enter_context(patch.object(hook.where, hook.name, hook.instead))
        yield


def answers(sort: str, part: str) -> tuple[list[tuple[int, ...]], float]:
    """Return the measure of every round without a part (larger is better), and the processor's seconds for them."""
    found, begun = [], sum(os.times()[:4])
    with left_out(part):
        for seed in SEEDS[sort]:
            for visits, days, crews in ROUNDS[sort]:
                problem = farm_round(seed, visits, days, crews)
                solution = solve(problem, frozenset(range(visits)), WORK, prove=sort == "one")
                found.append(measure(OrderCosts(problem), solution.orders))
    return found, sum(os.times()[:4]) - begun


def told(part: str, whole: list[tuple[int, ...]], rest: list[tuple[int, ...]], seconds: float) -> str:
    """Return the row of a part: where it is missed, where it is in the way, and by how much."""
    worse = sum(after < before for before, after in zip(whole, rest, strict=True))
    better = sum(after > before for before, after in zip(whole, rest, strict=True))
    lost = [
        sum(before[:-2]) - sum(after[:-2])
        for before, after in zip(whole, rest, strict=True)
        if before[:-2] != after[:-2]
    ]
    away = [
        (before[-2] - after[-2]) / -before[-2]
        for before, after in zip(whole, rest, strict=True)
        if before[:-2] == after[:-2] and before[-2]
    ]
    mean = 100 * sum(away) / max(1, len(away))
    return f"| {part} | {worse} | {better} | {len(lost)} | {sum(lost):+d} | {mean:+.2f} % | {seconds:.0f} s |"


def main(sort: str, *parts: str) -> None:
    """Print the table with what it was measured on, of all parts where none is named."""
    names = ("pyvrp", "pyvroom", "ortools", "numba", "numpy")
    print(
        ", ".join(f"{name} {version(name)}" for name in names),
        f"Python {platform.python_version()}",
        machine(),
        sep=", ",
    )
    print(f"{len(SEEDS[sort])} times (visits, days, crews): {ROUNDS[sort]}; work {WORK:g}")
    print(
        "| left out | worse on | better on | other work served on | weight lost | time away, where as much is served | took |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for visits, days, crews in ROUNDS[sort]:
        solve(farm_round(1, visits, days, crews), frozenset(range(visits)), 0.1, prove=False)  # compiles, once
    whole, seconds = answers(sort, "nothing")
    print(told("nothing", whole, whole, seconds), flush=True)
    for part in parts or ASKED[sort]:
        rest, seconds = answers(sort, part)
        print(told(part, whole, rest, seconds), flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
