"""Which engine for which problem, and what may be said of the answer."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from routing.planning.bounds.spanning_tree import least_cost
from routing.planning.model.load import stock_left
from routing.planning.model.narrow import is_packed, narrow
from routing.planning.model.order_costs import Rounds
from routing.planning.model.problem import RANKS, Order, Orders, Problem, rank_score, served, widest
from routing.planning.search.hopeful import hopeful, most_weight
from routing.planning.search.insertion import construct, fill

if TYPE_CHECKING:
    from routing.planning.exact.cp_sat import DayAnswer
    from routing.planning.exact.crew_day import WalkedDay
    from routing.planning.model.engine import Engine
    from routing.planning.search.driver import Progress, Search


MOST_CONSTRUCTED = 40
"""A single route of more candidates starts from the engines, and not from our own construction alone."""

MOST_EXACT = 80
"""A single route of more candidates, whose day cannot hold one rank of them, is not searched for the lesser ranks."""

SCARCE_SHARE = 0.25
"""Of the work, what such a route gets: most of what is asked of it cannot be done anyway."""
CIRCUIT_OF_MANY = 0.1
"""Of the work left where walks and engines have not proven the best of so many, what the circuit model gets."""

WALKED_SHARE, SEARCHED_SHARE_OF_TIME = 0.25, 0.75
"""Of such a route's work what walks have, and of its time when engines end that may follow."""

MOST_PROVEN = 400
"""Above so many tasks the bound is that of the least spanning tree: a near one takes longer than the search."""

MOST_VROOM_TASKS = 150
"""Above these its search, which counts nothing and only heeds a clock, takes longer than it gains."""

MOST_TASKS_OF_TWO = 30
"""Up to so many tasks two engines are enough, and nothing is bred.

For more, VROOM, which lets nothing else run, gets its own process.
"""

MOST_BRED = 400
"""Up to so many tasks orders are bred."""

PROOF_SHARE = 0.3
"""Of a given time, what is kept for the bounds."""

END_SHARE = 0.01
"""Of a given time, what putting the answer together may take."""

LEAST_COST_SHARE = 0.02
"""Of a given time, what the quick bound of a round too large for near ones takes."""

QUICK_BOUND = 0.8
"""Share of the time away: under it, a bound may be beaten by the quick one."""

MOST_BOUNDED = 3
"""Bounds are sought again for better orders that their own search came upon, so many times."""


@dataclass(frozen=True)
class Solution:
    """Orders for every route and how good they are."""

    orders: Orders
    proven: bool
    """Every rank and the time away proven best over all routes."""
    days_proven: bool
    """Each crew-day proven best for the tasks it has and those left out, the split between crews taken as given."""
    rank_bounds: tuple[int, ...]
    """Shape (RANKS,): no orders serve more weight in the first rank whose bound exceeds what was served."""
    away_bound: int
    """No orders that do the same tasks are away for less, all routes added up; 0 where nothing is known.

    Where the problem puts distance first these are metres.
    """
    interrupted: bool = False
    """Whether Ctrl-C ended the search; the orders are the best until then."""


def solve(
    problem: Problem,
    tasks: frozenset[int],
    work: float = 60,
    *,
    seconds: float | None = None,
    longer: float | None = None,
    seed: int = 1,
    progress: Progress | None = None,
    prove: bool = True,
) -> Solution:
    """Return the best orders found for these tasks; the same input and seed give the same orders.

    Of far more tasks than the routes can do only hopeful ones are searched among; what else fits is then put in, and
    the bounds are those of all.
    `work` is a repeatable budget (about seconds on one core; quiet problems end sooner). With `seconds` the search goes
    on until then instead, and depends on the machine; `longer` takes its place once all tasks are served. One route is
    solved to proof; several are searched by engines and recombination, and bounded if `prove`. `progress` hears of
    every better set of orders. Ctrl-C keeps the best so far, and raises KeyboardInterrupt where there is none.
    """
    if not problem.routes or not tasks:
        nobody: Orders = tuple(() for _ in problem.routes)
        return Solution(nobody, proven=True, days_proven=True, rank_bounds=(0,) * RANKS, away_bound=0)
    kept = hopeful(problem, tasks)
    if kept == tasks and not is_packed(problem):
        return _solved(problem, tasks, work, seconds, longer, seed, progress, prove=prove)
    small = narrow(problem, kept)

    def hear(orders: Orders) -> None:
        if progress is not None:
            progress(small.widened(orders))

    found = _solved(small.problem, kept, work, seconds, longer, seed, hear, prove=prove and kept == tasks)
    found = replace(found, orders=small.widened(found.orders))
    return found if kept == tasks else _with_what_was_set_aside(problem, tasks, found)


def _with_what_was_set_aside(problem: Problem, tasks: frozenset[int], found: Solution) -> Solution:
    """Return orders that were sought among some of the tasks with all that still fits, and what holds of them all."""
    orders = fill(Rounds(problem), found.orders, tasks)
    most = rank_score(problem, tasks)
    return replace(
        found,
        orders=widest(problem, orders),
        proven=False,
        days_proven=False,
        rank_bounds=tuple(min(each) for each in zip(most, most_weight(problem, tasks), strict=True)),
        away_bound=0 if found.interrupted else least_cost(problem, served(orders)),
    )


def _solved(
    problem: Problem,
    tasks: frozenset[int],
    work: float,
    seconds: float | None,
    longer: float | None,
    seed: int,
    progress: Progress | None,
    *,
    prove: bool,
) -> Solution:
    """Return what `solve` does where no task is set aside."""
    if len(problem.routes) == 1:
        contested = tasks if seconds is not None else _within_reach(problem, tasks)
        if contested != tasks:
            return _with_the_rest(problem, contested, tasks, work, seed, progress, prove=prove)
        if seconds is None and len(tasks) > MOST_EXACT:
            work *= SCARCE_SHARE
        return _one_route(problem, tasks, work, seconds, seed, progress, prove=prove)
    # The solvers take half a second to import: only a question that needs them pays.
    from routing.planning.search.driver import Search as Searcher  # noqa: PLC0415

    begun = time.monotonic()
    asked, prove = prove, prove and len(tasks) <= MOST_PROVEN
    kept = END_SHARE + (PROOF_SHARE if prove else LEAST_COST_SHARE if asked else 0)
    searching, stretched = (None if given is None else begun + given * (1 - kept) for given in (seconds, longer))
    search = Searcher(problem, tasks, searching, progress, stretched)
    interrupted = _interrupted(search, work, seed)
    if search.longer is not None and search.deadline == search.longer:
        seconds = longer
    solution = Solution(
        widest(problem, search.best),
        proven=False,
        days_proven=search.days_proven and not interrupted,
        rank_bounds=rank_score(problem, tasks),
        away_bound=least_cost(problem, served(search.best)) if asked and not prove and not interrupted else 0,
        interrupted=interrupted,
    )
    return (
        solution
        if interrupted or not prove
        else _bounded(search, solution, work, None if seconds is None else begun + seconds)
    )


def _within_reach(problem: Problem, tasks: frozenset[int]) -> frozenset[int]:
    """Return the tasks up to the rank whose work alone is longer than one route's day; all where there are few.

    What the best serve of that rank does not depend on the lesser ones, which only fill the gaps.
    """
    if len(tasks) <= MOST_EXACT:
        return tasks
    route = problem.routes[0]
    for rank in range(RANKS):
        reach = frozenset(task for task in tasks if problem.tasks[task].rank <= rank)
        if sum(route.work_seconds[task] for task in reach) > route.longest:
            return reach
    return tasks


def _with_the_rest(
    problem: Problem,
    contested: frozenset[int],
    tasks: frozenset[int],
    work: float,
    seed: int,
    progress: Progress | None,
    *,
    prove: bool,
) -> Solution:
    """Return the best orders of the contested tasks with what else still fits; lesser ranks have no bound."""
    found = _one_route(problem, contested, work * SCARCE_SHARE, None, seed, progress, prove=prove)
    orders = fill(Rounds(problem), found.orders, tasks)
    most = rank_score(problem, tasks)
    last = max(problem.tasks[task].rank for task in contested)
    return replace(
        found,
        orders=widest(problem, orders),
        proven=False,
        days_proven=False,
        rank_bounds=(*found.rank_bounds[: last + 1], *most[last + 1 :]),
        away_bound=found.away_bound if served(orders) == served(found.orders) else 0,
    )


def _interrupted(search: Search, work: float, seed: int) -> bool:
    """Run the search; return whether Ctrl-C ended it. Raises KeyboardInterrupt where it has no orders yet."""
    try:
        problem, count = search.rounds.problem, len(search.tasks)
        search.run(work, seed, engines_for(problem, count), breeder=breeder_for(problem, count))
    except KeyboardInterrupt:
        search.rescue()
        if not served(search.best):
            raise
        return True
    return False


def _bounded(search: Search, solution: Solution, work: float, end: float | None) -> Solution:
    """Return the solution with bounds, and with better orders where the search for bounds came upon their parts."""
    from routing.planning.bounds.column_generation import bounds  # noqa: PLC0415
    from routing.planning.bounds.restricted_master import Effort  # noqa: PLC0415

    problem, tasks = search.rounds.problem, search.tasks
    away, ranks = 0, solution.rank_bounds
    try:
        for _ in range(MOST_BOUNDED):
            done = served(search.best)
            bound = bounds(problem, tasks, search.best, Effort(work, end), search.pool)
            ranks = tuple(min(old, new) for old, new in zip(ranks, bound.ranks, strict=True))
            search.deadline = end
            better = search.combine(work)
            away = bound.cost if served(search.best) == done else 0
            if not better:
                break
    except KeyboardInterrupt:
        return replace(solution, orders=widest(problem, search.best), days_proven=False, interrupted=True)
    reached = served(search.best)
    least = sum(cost.main for route, order in enumerate(search.best) if (cost := search.rounds.cost(route, order)))
    if away < QUICK_BOUND * least:
        away = max(away, least_cost(problem, reached))
    return replace(
        solution,
        orders=widest(problem, search.best),
        days_proven=search.days_proven,
        rank_bounds=ranks,
        away_bound=away,
        proven=reached == tasks and away >= least,
    )


def engines_for(problem: Problem, count: int) -> tuple[Engine, ...]:
    """Return the engines that a round of so many tasks is searched with in turn, the one that goes on last.

    Where distance comes first, a start that is good for time leads away from the best.
    """
    from routing.planning.heuristics.beam import HopefulSets  # noqa: PLC0415
    from routing.planning.heuristics.pyvrp import PyVRP  # noqa: PLC0415
    from routing.planning.heuristics.vroom import Vroom  # noqa: PLC0415
    from routing.planning.running.child_process import Apart  # noqa: PLC0415

    if len(problem.routes) == 1:
        return (HopefulSets(), PyVRP())
    if problem.distance_first:
        return (PyVRP(),)
    if count <= MOST_TASKS_OF_TWO:
        return (Vroom(), PyVRP())
    starts: list[Engine] = [] if count > MOST_VROOM_TASKS else [Apart(Vroom())]
    if not any(problem.returns):
        from routing.planning.heuristics.ruin_recreate import Ruins  # noqa: PLC0415 - it takes half a second to import

        starts.append(Ruins())
    return (*starts, PyVRP())


def breeder_for(problem: Problem, count: int) -> Engine | None:
    """Return the engine that breeds orders, for a round of so many tasks that this is worth its time."""
    if len(problem.routes) == 1 or not MOST_TASKS_OF_TWO < count <= MOST_BRED:
        return None
    from routing.planning.heuristics.hybrid_genetic import HybridGenetic  # noqa: PLC0415

    return HybridGenetic()


def _begin_many(
    problem: Problem,
    tasks: frozenset[int],
    work: float,
    seconds: float | None,
    seed: int,
    progress: Progress | None,
) -> tuple[Orders, WalkedDay | None, bool]:
    """Return orders of one route to start from, what walks came to, and whether Ctrl-C ended it.

    Engines follow only where walks do not prove the best. Raises KeyboardInterrupt where there are no orders yet.
    """
    from routing.planning.exact.cp_sat import Budget, walked_within  # noqa: PLC0415
    from routing.planning.exact.crew_day import get_ready  # noqa: PLC0415 - it takes half a second to import
    from routing.planning.search.driver import Search as Searcher  # noqa: PLC0415

    end = searching = None
    if seconds is not None:
        end = time.monotonic() + seconds
        get_ready()
        begun = time.monotonic()
        searching = begun + max(0.0, end - begun) * SEARCHED_SHARE_OF_TIME

    def hear(order: Order) -> None:
        if progress is not None:
            progress((order,))

    stock = stock_left(problem, ())
    walked = walked_within(problem, 0, tasks, stock, (), Budget(work, end), hear, WALKED_SHARE)
    start: Orders = ((),) if walked is None else (walked.order,)
    if walked is not None and (walked.proven or walked.interrupted):
        if walked.interrupted and not served(start):
            raise KeyboardInterrupt
        return start, walked, walked.interrupted
    search = Searcher(problem, tasks, searching, progress)
    search.offer(start)
    interrupted = _interrupted(search, work, seed)
    return search.best, walked, interrupted


def _filled(rounds: Rounds, start: Orders, answer: DayAnswer, tasks: frozenset[int]) -> tuple[Orders, DayAnswer]:
    """Return the best orders known of one route, and what may still be said of them.

    The exact search makes each visit once; what a second stop at a site still serves comes in here.
    """
    orders: Orders = fill(rounds, (answer.order,), tasks)
    if not answer.proven:
        from routing.planning.search.driver import measure  # noqa: PLC0415

        orders = max(start, orders, key=lambda each: measure(rounds, each))
    reached = rank_score(rounds.problem, served((answer.order,)))
    if rank_score(rounds.problem, served(orders)) != reached:
        nothing_known = rank_score(rounds.problem, tasks)
        answer = replace(answer, proven=False, rank_bounds=nothing_known, away_bound=0)
    return orders, answer


def _one_route(
    problem: Problem,
    tasks: frozenset[int],
    work: float,
    seconds: float | None,
    seed: int,
    progress: Progress | None,
    *,
    prove: bool,
) -> Solution:
    from routing.planning.exact.cp_sat import Budget, DayAnswer, Stopped, best_day  # noqa: PLC0415

    begun = time.monotonic()
    rounds = Rounds(problem)
    if len(tasks) > MOST_CONSTRUCTED:
        start, walked, interrupted = _begin_many(problem, tasks, work, seconds, seed, progress)
    else:
        start, walked, interrupted = construct(rounds, tasks), None, False
    bounds = rank_score(problem, tasks) if walked is None else walked.rank_bounds
    if interrupted or (not prove and len(tasks) > MOST_CONSTRUCTED):
        begun_with = widest(problem, start)
        return Solution(
            begun_with, proven=False, days_proven=False, rank_bounds=bounds, away_bound=0, interrupted=interrupted
        )
    heard = list(start)

    def hear(order: Order) -> None:
        heard.append(order)
        if progress is not None:
            progress((order,))

    many = seconds is None and len(tasks) > MOST_EXACT
    budget = Budget(work * CIRCUIT_OF_MANY if many else work, None if seconds is None else begun + seconds)
    try:
        hear(start[0])
        answer = best_day(problem, 0, tasks, stock_left(problem, ()), start[0], budget, hear, walked=walked)
    except Stopped as stopped:
        answer, interrupted = stopped.answer, True
    except KeyboardInterrupt:
        answer, interrupted = DayAnswer(heard[-1], proven=False, rank_bounds=bounds, away_bound=0), True
    orders, answer = _filled(rounds, start, answer, tasks)
    if interrupted and not served(orders):
        raise KeyboardInterrupt
    return Solution(
        widest(problem, orders), answer.proven, answer.proven, answer.rank_bounds, answer.away_bound, interrupted
    )
