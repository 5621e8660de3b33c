"""Which engines search for a problem, and a search with them."""

from __future__ import annotations

from routing.planning import heuristics
from routing.planning.model.engine import Engine
from routing.planning.model.problem import Problem, served
from routing.planning.running.child_process import InChildProcess
from routing.planning.search.driver import Search

MOST_VROOM_TASKS = 150
"""Above these its search, which counts nothing and only heeds a clock, takes longer than it gains."""

MOST_TASKS_OF_TWO = 30
"""Up to so many tasks two engines are enough; for more, VROOM, which lets nothing else run, gets its own process."""

LEAST_GENETIC_TASKS, MOST_GENETIC_TASKS = 20, 400
"""From and up to so many tasks the genetic engine runs. In one of 12 rounds of 30 by 3 crews it brings a visit more."""


def search_interrupted(search: Search, seed: int) -> bool:
    """Run the search; return whether Ctrl-C ended it. Raises KeyboardInterrupt where it has no orders yet."""
    try:
        problem, count = search.order_costs.problem, len(search.tasks)
        search.run(seed, engines_for(problem, count), genetic=genetic_for(problem, count))
    except KeyboardInterrupt:
        search.rescue()
        if not served(search.best):
            raise
        return True
    return False


def brief_interrupted(search: Search, seed: int) -> bool:
    """Search briefly; return whether Ctrl-C ended it. Raises KeyboardInterrupt where it has no orders yet."""
    try:
        search.brief(seed, engines_for(search.order_costs.problem, len(search.tasks))[-2:])
    except KeyboardInterrupt:
        if not served(search.best):
            raise
        return True
    return False


def engines_for(problem: Problem, count: int) -> tuple[Engine, ...]:
    """Return the engines that a round of so many tasks is searched with in turn, the one that goes on last.

    Where distance comes first, a start that is good for time leads away from the best.
    """
    pyvrp = heuristics.pyvrp.PyVRP()
    if len(problem.routes) == 1:
        return (heuristics.beam.BeamSearch(), pyvrp)
    if problem.distance_first:
        return (pyvrp,)
    vroom = heuristics.vroom.Vroom()
    if count <= MOST_TASKS_OF_TWO:
        return (vroom, pyvrp)
    starts: list[Engine] = [] if count > MOST_VROOM_TASKS else [InChildProcess(vroom)]
    if not any(problem.returns):
        starts.append(heuristics.ruin_recreate.RuinRecreate())
    return (*starts, pyvrp)


def genetic_for(problem: Problem, count: int) -> Engine | None:
    """Return the genetic engine, for a round of so many tasks that it is worth its time."""
    if len(problem.routes) == 1 or not LEAST_GENETIC_TASKS <= count <= MOST_GENETIC_TASKS:
        return None
    return heuristics.hybrid_genetic.HybridGenetic()
