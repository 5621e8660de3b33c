"""One crew-day planned again with something changed: whether it holds what is wanted and loses nothing as weighty."""

from __future__ import annotations

from dataclasses import dataclass, replace

from routing.planning.exact.stretch import least_extension
from routing.planning.explain.day_bound import bound_of
from routing.planning.explain.quickest import whatever_else
from routing.planning.model.build_instance import build_instance
from routing.planning.model.instance import Instance
from routing.planning.model.load import stock_holds, stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Planned, Problem, served
from routing.planning.model.subproblem import is_large, subproblem_of
from routing.planning.running.budget import Budget
from routing.planning.search.insertion import construct, fill

WORK = 1.0
WORK_WITH_RETURNS = 0.3
"""Repeatable units that the exact search may take for a question: there are many, and with returns each is longer."""


@dataclass(frozen=True)
class Trial:
    """What one crew-day is asked to hold."""

    wanted: frozenset[int]
    """What is left out now."""
    kept: frozenset[int]
    """What the crew does now that is of the rank of the least of these, or above it."""
    others: frozenset[int]
    """What it does now besides: it may be lost, and as little of it as can be."""

    @property
    def needed(self) -> frozenset[int]:
        """Return what any answer must hold."""
        return self.wanted | self.kept


@dataclass(frozen=True)
class Answer:
    """What came of a question."""

    order: Order = ()
    """An order, timed and loaded, that holds all that is needed; empty where none was found."""
    refused: bool = False
    """Whether it is proved that there is none with one stop at a site in one window, others or not."""

    def lost(self, trial: Trial) -> frozenset[int]:
        """Return what of lesser rank the order does no more."""
        return trial.others - served((self.order,))


def trial_for(problem: Problem, order: Order, tasks: tuple[int, ...]) -> Trial:
    """Return what a crew-day must hold if tasks are added and nothing of their rank, or above it, is lost."""
    least = max(problem.tasks[task].rank for task in tasks)
    now = served((order,))
    kept = frozenset(task for task in now if problem.tasks[task].rank <= least)
    return Trial(frozenset(tasks), kept, now - kept)


def crew_day(problem: Problem, orders: tuple[Order, ...], route: int) -> Problem:
    """Return the problem of one crew-day alone, with the stock that the others leave it."""
    left = stock_left(problem, served(tuple(order for number, order in enumerate(orders) if number != route)))
    supplies = tuple(
        supply if stock < 0 else replace(supply, stock=stock)
        for supply, stock in zip(problem.supplies, left, strict=True)
    )
    return replace(problem, supplies=supplies, routes=(problem.routes[route],))


def tried(problem: Problem, trial: Trial, *starts: Order, exact: bool = True, prove: bool = False) -> Answer:
    """Return an order of a crew-day that holds what is needed, with as much of the others as goes in.

    `starts` are orders to begin with. Insertion and local search first; where they find none and it is asked for, the
    exact search, unless sums say that it would find none. Only where it is to `prove` something the answer may be that
    an order is refused. Whatever is found is timed and loaded like any plan.
    """
    weighed = _weighed(problem, trial)
    if not stock_holds(weighed, trial.needed) or not all(weighed.routes[0].allowed[task] for task in trial.needed):
        return Answer(refused=True)
    order_costs = OrderCosts(weighed)
    for start in (*starts, ()):
        for tasks in (trial.needed | trial.others, trial.needed):
            begun = _only(start, tasks)
            if order_costs.cost(0, begun) is None or not stock_holds(weighed, served((begun,))):
                continue
            found = construct(order_costs, tasks, (begun,))
            if trial.needed <= served(found):
                return Answer(fill(order_costs, found, trial.needed | trial.others)[0])
    if not exact:
        return Answer()
    if not prove and seconds_missing(weighed, trial.needed) > 0:
        return Answer()
    budget = Budget(WORK_WITH_RETURNS if weighed.returns[0] else WORK)
    found_out = least_extension(weighed, 0, trial.needed, stock_left(weighed, ()), frozenset(), budget)
    if found_out.order and order_costs.cost(0, found_out.order) is not None:
        return Answer(fill(order_costs, (found_out.order,), trial.needed | trial.others)[0])
    refused = prove and found_out.seconds is None and found_out.least
    return Answer(refused=refused and (not trial.others or _refused_beside(weighed, trial, budget)))


def seconds_missing(problem: Problem, tasks: frozenset[int]) -> int:
    """Return seconds that a crew-day lacks at the very least for an order of just these tasks, by sums; 0 or more.

    So much sooner it must begin, or so much later light and home must be, where one of these alone gives way.
    """
    return max(0, bound_of(problem, tasks).missing)


def _refused_beside(problem: Problem, trial: Trial, budget: Budget) -> bool:
    """Return whether it is proved that the others, done or not, do not make room for what is needed.

    They may lie on a way that is quicker than the direct one, and a break may be taken before them.
    """
    allowed = trial.needed | trial.others
    places = sorted({visit.place for visit in problem.visits if not allowed.isdisjoint(visit.tasks)})
    answers = (
        least_extension(easier, 0, trial.needed, stock_left(easier, ()), frozenset(), budget)
        for easier in whatever_else(problem, (0, *places))
    )
    return all(answer.seconds is None and answer.least for answer in answers)


def _weighed(problem: Problem, trial: Trial) -> Problem:
    """Return the problem in which all that is needed counts before the others."""
    tasks = tuple(
        replace(task, rank=0, weight=1)
        if number in trial.needed
        else replace(task, rank=1, weight=task.weight * 1000 ** (2 - task.rank))
        if number in trial.others
        else task
        for number, task in enumerate(problem.tasks)
    )
    return replace(problem, tasks=tasks)


def _only(order: Order, tasks: frozenset[int]) -> Order:
    """Return the order with no other tasks in it."""
    stops = [Planned(stop.visit, tuple(task for task in stop.tasks if task in tasks)) for stop in order]
    return tuple(stop for stop in stops if stop.tasks)


def built_again(instance: Instance, route: int, trial: Trial, *, people: int = 0) -> tuple[Problem, Trial] | None:
    """Return the crew-day of a route built anew with so many more people in its crew, and the trial there.

    Only the jobs of the trial are in it. None where the crew is not out then.
    """
    crew, date = instance.crews[route], instance.route_dates[route]
    larger = crew.model_copy(update={"people": crew.people + people})
    tasks = sorted(trial.needed | trial.others)
    farm = instance.farm.model_copy(
        update={
            "crews": tuple(larger if each.id == crew.id else each for each in instance.farm.crews),
            "jobs": tuple(instance.jobs[task] for task in tasks),
        }
    )
    again = build_instance(farm, instance.legs, (date,))
    numbers = {job.id: number for number, job in enumerate(again.jobs)}
    if len(numbers) < len(tasks):
        return None
    routes = [number for number, one in enumerate(again.crews) if one.id == crew.id]

    def there(some: frozenset[int]) -> frozenset[int]:
        return frozenset(numbers[instance.jobs[task].id] for task in some)

    asked = Trial(there(trial.wanted), there(trial.kept), there(trial.others))
    return (_alone(crew_day(again.problem, ((),) * len(again.crews), routes[0]), asked), asked) if routes else None


def _alone(problem: Problem, trial: Trial) -> Problem:
    """Return the problem of what a trial is of alone where the farm is large."""
    return subproblem_of(problem, trial.needed | trial.others).problem if is_large(problem) else problem
