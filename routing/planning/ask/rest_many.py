"""The rest of a day of more jobs than a beam holds: the better of what two searches find.

One is that of a whole day. The other goes the page's way: what matters most by a beam, and of the others what fits.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace

from routing.farm.models import Farm
from routing.planning.ask.rest_places import may_be_done
from routing.planning.ask.rest_round import TOO_MUCH, FromBase, RestPart, clash_told, in_turn, part_of_day
from routing.planning.ask.rest_search import look
from routing.planning.ask.rest_size import MOST_IN_BEAM
from routing.planning.explain.reasons import certain_reasons
from routing.planning.model.build_instance import build_instance
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Problem, rank_score
from routing.planning.search.insertion import fill
from routing.round import Round
from routing.travel.legs import Legs


def rest_of_many(
    farm: Farm,
    legs: Legs,
    date: dt.date,
    base: FromBase | None,
    plan: Sequence[str],
    whole: Callable[[Instance], Round],
) -> RestPart:
    """Return the best rest of a day that is found; `whole` searches as for a whole day, `plan` as for `rest_rounds`."""
    instance = build_instance(farm, legs, (date,))
    tasks = in_turn(instance, plan, certain_reasons(instance).keys())
    parts = [RestPart(farm, legs, instance, whole(instance))]
    if parts[0].round.proof.stopped:
        return parts[0]
    order = best_of_many(instance.problem, tasks)
    if order:
        parts.append(part_of_day(farm, legs, instance, order, TOO_MUCH, remedied=0))
    best = max(parts, key=_worth)
    clash = clash_told(instance, tasks, _done(best), None if base is None else base.at_base(instance))
    return replace(best, round=best.round.model_copy(update={"clash": clash}))


def best_of_many(problem: Problem, tasks: Sequence[int]) -> Order:
    """Return the best order that is found of tasks in the order of the plan; empty where nothing can be done.

    Base is not come back to, and every job is done at all its hives.
    """
    tasks = may_be_done(problem, tasks, None, lambda _: False)
    ranked = sorted(tasks, key=lambda task: (problem.tasks[task].rank, -problem.tasks[task].weight))
    first = set(ranked[:MOST_IN_BEAM])
    looked = look(problem, [task for task in tasks if task in first])
    found = None if looked is None else looked.best()
    return fill(OrderCosts(problem), (() if found is None else found.order,), frozenset(tasks))[0]


def _done(part: RestPart) -> frozenset[int]:
    jobs = {job.id for day in part.round.itineraries for stop in day.stops for job in stop.jobs}
    return frozenset(task for task, job in enumerate(part.instance.jobs) if job.id in jobs)


def _worth(part: RestPart) -> tuple[tuple[int, ...], bool, float]:
    """Return what rule 17 compares: the weight by rank, no break at a suspect site, the soonest home."""
    days = part.round.itineraries
    suspect = {site.id for site in part.farm.sites if site.last_of_day}
    dirty = any(stop.rest is not None and stop.site in suspect for day in days for stop in day.stops)
    home = max((day.home.timestamp() for day in days), default=0.0)
    return tuple(rank_score(part.instance.problem, _done(part))), not dirty, -home
