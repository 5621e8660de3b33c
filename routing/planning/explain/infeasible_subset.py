"""When musts clash: a minimal infeasible subset, which one crew-day cannot hold, though it holds all but any one.

Source: the deletion filter of J. W. Chinneck, "Feasibility and Infeasibility in Optimization", Springer 2008, from
memory, not checked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from routing.plain_words import count, date_words
from routing.planning import exact
from routing.planning.explain.quickest import whatever_else
from routing.planning.model.instance import Instance
from routing.planning.model.load import stock_holds, stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Problem, served
from routing.planning.model.subproblem import is_large
from routing.planning.running.budget import Budget
from routing.planning.search.insertion import construct

CLASH_WORK = 5.0
"""Repeatable work units for each question to the exact search."""

ALL_CLASH_WORK = 20.0
"""Units for all questions together: what is not certain by then is not said."""


class _Asked:
    """Questions to the exact search, and the work that is left for them."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.left = ALL_CLASH_WORK

    def fits(self, tasks: frozenset[int]) -> bool | None:
        """Return whether one crew-day holds all these tasks, None where the search ended without an answer.

        A yes is an order, timed and loaded; a no is proved, whatever else the day may do.
        """
        route, problem = self.problem.routes[0], self.problem
        if not stock_holds(problem, tasks) or sum(route.work_seconds[task] for task in tasks) > route.longest:
            return False  # the work alone is longer than the day
        order_costs = OrderCosts(problem)
        if served(construct(order_costs, tasks)) == tasks:
            return True
        found = self._extension(problem, tasks)
        if found.order:
            held = served((found.order,)) == tasks and order_costs.cost(0, found.order) is not None
            return True if held else None
        if found.seconds is not None or not found.least:
            return None
        for easier in whatever_else(problem):
            answer = self._extension(easier, tasks)
            if answer.seconds is not None or not answer.least:
                return None
        return False

    def _extension(self, problem: Problem, tasks: frozenset[int]) -> exact.stretch.Stretch:
        if self.left <= 0:
            return exact.stretch.Stretch(None, least=False)
        budget = Budget(min(CLASH_WORK, self.left))
        found = exact.stretch.least_extension(problem, 0, tasks, stock_left(problem, ()), frozenset(), budget)
        self.left -= found.work
        return found


def clash_words(instance: Instance, musts: frozenset[int]) -> str:
    """Return one sentence on a minimal infeasible subset of these tasks, or nothing where none is proven.

    Only for a round of one crew-day of a farm that is not large, where the exact search can prove that a set does not
    fit, in however many stops at a site. Dropping the tasks one by one for as long as the rest still clash leaves a set
    of which every part fits, by an order that was timed and loaded.
    """
    if len(instance.problem.routes) != 1 or len(musts) <= 1 or is_large(instance.problem):
        return ""
    asked = _Asked(_stops_enough(instance.problem, musts))
    if asked.fits(musts) is not False:
        return ""
    clash = musts
    for task in sorted(musts, reverse=True):
        if len(clash) > 1 and asked.fits(clash - {task}) is False:
            clash -= {task}
    if len(clash) == 1 or any(asked.fits(clash - {task}) is not True for task in clash):
        return ""
    return clash_sentence(instance, sorted(clash))


def clash_sentence(instance: Instance, clash: Sequence[int]) -> str:
    """Return the sentence that these tasks cannot all be done, though all but any one of them can."""
    names = [
        f"{instance.farm.site(instance.jobs[t].site).name} ({instance.farm.job_kinds[instance.jobs[t].kind].name})"
        for t in clash
    ]
    when = date_words(instance.route_dates[0])
    return (
        f"These {count(len(names), 'must')} cannot all be done on {when}, whatever else is left: {', '.join(names)}. "
        "Without any one of them the others can."
    )


def _stops_enough(problem: Problem, tasks: frozenset[int]) -> Problem:
    """Return the problem in which each visit can be made as often as it has any of these tasks.

    The exact search makes each visit once; two stops at a site, between which another is open, may do more.
    """
    again = [visit for visit in problem.visits for _ in range(len(tasks & set(visit.tasks)) - 1)]
    return replace(problem, visits=(*problem.visits, *again)) if again else problem
