"""A problem solved: one route by itself, several by engines and bounds, and what may be said of the answer."""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

from routing.planning import bounds
from routing.planning import search as searches
from routing.planning.bounds.spanning_tree import least_cost
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Orders, Problem, rank_score, served, widest
from routing.planning.model.subproblem import is_packed, subproblem_of
from routing.planning.running.budget import Budget
from routing.planning.running.parts import Parts
from routing.planning.search.by_parts import ByParts
from routing.planning.search.driver import Search
from routing.planning.search.engines import brief_interrupted, search_interrupted
from routing.planning.search.filling import filled
from routing.planning.search.one_route import MOST_EXACT, SCARCE_SHARE, solve_route, with_the_rest, within_reach
from routing.planning.search.preselection import most_weight, preselected
from routing.planning.search.settings import Progress, Settings, alone, unheard
from routing.planning.search.solution import Solution, nearer

if TYPE_CHECKING:
    from routing.planning.search.closing import Closing

MOST_WHOLE = 400
"""A round of several crew-days and more tasks is searched by parts, and bounded by the least spanning tree."""

END_SHARE_BY_PARTS = 0.05
"""Of a given time, what the last pass and the bound of a round searched by parts take."""

PROOF_SHARE = 0.3
"""Of a given time, what is kept for the bounds."""

END_SHARE = 0.01
"""Of a given time, what putting the answer together may take."""

QUICK_BOUND = 0.8
"""Share of the time away: under it, a bound may be beaten by the quick one."""

CLOSED_SECONDS_A_TASK = 2.0
"""Of a given time, so many for each task: then a round is closed first, and where that proves it the time is not waited
for. Closing takes 0.1 to 0.4 s a task up to 45 by 6 crew-days, once 1.3."""

CLOSED_FIRST_SHARE = 0.35
"""Of the work that closing a round may take, what it has before the search. Rounds of 25 to 40 single visits
that are closed take 10 to 67 % of it, so that those of 25 and 30 are mostly closed before."""

MOST_BOUNDED = 3
"""Bounds are sought again for better orders that their own search came upon, so many times."""


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
    parts: Parts | None = None,
    searched: Progress = unheard,
) -> Solution:
    """Return the best orders found for these tasks; the same input and seed give the same orders.

    Of far more tasks than the routes can do only preselected ones are searched among; what else fits is then put in,
    and the bounds are those of all. `work` is a repeatable budget (about seconds on one core; quiet problems end
    sooner). With `seconds` the search goes on until then instead, and depends on the machine; `longer` takes its place
    once all tasks are served. One route is solved to proof; several are searched by engines and recombination, and
    bounded if `prove`. `progress` hears of every better set of orders. Ctrl-C keeps the best so far, and raises
    KeyboardInterrupt where there is none. Where `parts` are given, others do some of the work; the answer is the same.
    `searched` hears of the best orders when only bounds are to come, which may still better them.
    """
    if not problem.routes or not tasks:
        nobody: Orders = tuple(() for _ in problem.routes)
        return Solution(nobody, proven=True, days_proven=True, rank_bounds=(0,) * RANKS, away_bound=0)
    now = time.monotonic()
    kept = preselected(problem, tasks)
    ends = [None if given is None else now + given for given in (seconds, longer)]
    settings = Settings(Budget(work, ends[0]), ends[1], seed, progress, prove, parts or alone(), searched)
    if len(kept) > MOST_WHOLE and len(problem.routes) > 1:
        return _solved_by_parts(problem, tasks, kept, settings)
    if kept == tasks and not is_packed(problem):
        return _solved(problem, tasks, settings)
    small = subproblem_of(problem, kept)

    def hear(orders: Orders) -> None:
        if progress is not None:
            progress(small.lifted(orders))

    found = _solved(small.problem, kept, replace(settings, progress=hear, prove=prove and kept == tasks))
    found = replace(found, orders=small.lifted(found.orders))
    return found if kept == tasks else _with_what_was_set_aside(problem, tasks, found)


def _solved_by_parts(problem: Problem, tasks: frozenset[int], kept: frozenset[int], settings: Settings) -> Solution:
    """Return what a search by parts comes to among the tasks that are kept, with all that still fits."""
    budget, interrupted = settings.budget, False
    now = time.monotonic()
    deadline = None if budget.deadline is None else now + (budget.deadline - now) * (1 - END_SHARE_BY_PARTS)
    search = ByParts(problem, kept, settings.parts, settings.progress)
    try:
        search.run(replace(budget, deadline=deadline), settings.seed, settings.longer)
    except KeyboardInterrupt:
        if not served(search.orders):
            raise
        interrupted = True
    orders = widest(problem, filled(OrderCosts(problem), search.orders, tasks))
    return Solution(
        orders,
        proven=False,
        days_proven=False,
        rank_bounds=nearer(rank_score(problem, tasks), most_weight(problem, tasks)),
        away_bound=least_cost(problem, served(orders)) if settings.prove and not interrupted else 0,
        interrupted=interrupted,
    )


def _with_what_was_set_aside(problem: Problem, tasks: frozenset[int], found: Solution) -> Solution:
    """Return orders that were sought among some of the tasks with all that still fits, and what holds of them all."""
    orders = filled(OrderCosts(problem), found.orders, tasks)
    return replace(
        found,
        orders=widest(problem, orders),
        proven=False,
        days_proven=False,
        rank_bounds=nearer(rank_score(problem, tasks), most_weight(problem, tasks)),
        away_bound=0 if found.interrupted else least_cost(problem, served(orders)),
    )


def _solved(problem: Problem, tasks: frozenset[int], settings: Settings) -> Solution:
    """Return what `solve` does where no task is set aside."""
    budget = settings.budget
    if len(problem.routes) == 1:
        contested = tasks if budget.deadline is not None else within_reach(problem, tasks)
        if contested != tasks:
            return with_the_rest(problem, contested, tasks, settings)
        if budget.deadline is None and len(tasks) > MOST_EXACT:
            settings = replace(settings, budget=replace(budget, work=budget.work * SCARCE_SHARE))
        return solve_route(problem, tasks, settings)
    now = time.monotonic()
    prove = settings.prove
    kept = END_SHARE + (PROOF_SHARE if prove else 0)
    ends = [None if end is None else now + (end - now) * (1 - kept) for end in (budget.deadline, settings.longer)]
    search = Search(problem, tasks, replace(budget, deadline=ends[0]), settings.progress, ends[1], settings.parts)
    roomy = budget.left() >= CLOSED_SECONDS_A_TASK * len(tasks)
    closing = searches.closing.of(search.incumbent, search.budget) if prove and roomy else None
    closed = None if closing is None else _closed_first(search, closing, settings.seed)
    if closed is not None and (closed.proven or closed.interrupted):
        return closed
    interrupted = search_interrupted(search, settings.seed)
    if search.longer is not None and search.budget.deadline == search.longer:
        budget = replace(budget, deadline=settings.longer)
    solution = Solution(
        widest(problem, search.best),
        proven=False,
        days_proven=search.days_proven and not interrupted,
        rank_bounds=rank_score(problem, tasks),
        away_bound=0,
        interrupted=interrupted,
    )
    if interrupted or not prove:
        return solution
    settings.searched(solution.orders)
    return _proved(search, solution, closing, closed, budget)


def _proved(
    search: Search, solution: Solution, closing: Closing | None, closed: Solution | None, budget: Budget
) -> Solution:
    """Return what a search came to with bounds; `closed` is what closing the round first came to, where that was tried.

    Without a clock it is tried once more where the search came to other orders, and its bounds stand where they tell
    of all tasks: it went as far as others would.
    """
    if closing is None or closed is None:
        return _bounded(search, solution, budget)
    if budget.deadline is None and solution.orders != closed.orders:
        again = _closed(search, closing)
        if again.proven or again.interrupted:
            return again
        solution = _within(replace(solution, orders=again.orders, days_proven=search.days_proven), again)
    solution = _within(solution, closed)
    if budget.deadline is None and solution.away_bound and served(solution.orders) == search.tasks:
        return solution
    return _bounded(search, solution, budget)


def _within(solution: Solution, other: Solution) -> Solution:
    """Return the solution with the nearer bounds of the other; that of the time away where both serve the same."""
    away = max(solution.away_bound, other.away_bound) if served(solution.orders) == served(other.orders) else 0
    return replace(solution, rank_bounds=nearer(solution.rank_bounds, other.rank_bounds), away_bound=away)


def _closed_first(search: Search, closing: Closing, seed: int) -> Solution:
    """Return what a brief search and closing the gap come to."""
    if brief_interrupted(search, seed):
        return _told(search, rank_score(search.order_costs.problem, search.tasks), interrupted=True)
    return _closed(search, closing, CLOSED_FIRST_SHARE)


def _closed(search: Search, closing: Closing, share: float = 1.0) -> Solution:
    """Return the best orders once all routes that may be part of better ones are looked through, or a share of them."""
    problem = search.order_costs.problem
    try:
        found = closing.run(share)
    except KeyboardInterrupt:
        return _told(search, rank_score(problem, search.tasks), interrupted=True)
    if not found.proven:
        return replace(_told(search, found.rank_bounds), away_bound=found.cost_bound)
    return replace(_told(search, found.rank_bounds), proven=True, days_proven=True, away_bound=found.cost_bound)


def _told(search: Search, rank_bounds: tuple[int, ...], *, interrupted: bool = False) -> Solution:
    """Return the best orders so far with these bounds, and no more proved of them."""
    orders = widest(search.order_costs.problem, search.best)
    return Solution(
        orders, proven=False, days_proven=False, rank_bounds=rank_bounds, away_bound=0, interrupted=interrupted
    )


def _bounded(search: Search, solution: Solution, budget: Budget) -> Solution:
    """Return the solution with bounds, and with better orders where the search for bounds came upon their parts."""
    problem, tasks = search.order_costs.problem, search.tasks
    away, ranks = 0, solution.rank_bounds
    try:
        for _ in range(MOST_BOUNDED):
            done = served(search.best)
            bound = bounds.column_generation.bounds(problem, tasks, search.best, budget, search.pool, ranks)
            ranks = nearer(ranks, bound.ranks)
            search.budget = budget
            better = search.combine()
            away = bound.cost if served(search.best) == done else 0
            if not better:
                break
    except KeyboardInterrupt:
        return replace(solution, orders=widest(problem, search.best), days_proven=False, interrupted=True)
    reached = served(search.best)
    least = sum(cost.main for route, order in enumerate(search.best) if (cost := search.order_costs.cost(route, order)))
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
