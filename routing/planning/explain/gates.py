"""Whether it is not for want of light that a day does not hold all: then opening hours, load or start still clash."""

from __future__ import annotations

from dataclasses import replace

from routing.farm.models import LightNeed
from routing.planning.exact.stretch import least_extension
from routing.planning.model.build_instance import build_instance
from routing.planning.model.instance import Instance
from routing.planning.model.load import stock_left
from routing.planning.model.subproblem import is_packed, subproblem_of
from routing.planning.running.budget import Budget

GATES = "However much light there were, opening hours, the load or the earliest start still clash."
NONE = "By exact search over every order: none does it all."

LATER_HOME = 24 * 3600
"""Seconds by which the crew may be home later where light is no matter."""


def not_for_light(instance: Instance, tasks: frozenset[int], work: float) -> str:
    """Return what may be said of tasks that one crew cannot do all of however much later light and home were.

    Opening hours that lie in the dark count too where there is light at all hours; so the day is built again for work
    that needs none, and the search, of so many repeatable units, must prove that it still does not hold the tasks.
    """
    kinds = {name: kind.model_copy(update={"light": LightNeed.ANY}) for name, kind in instance.farm.job_kinds.items()}
    farm = instance.farm.model_copy(
        update={"job_kinds": kinds, "jobs": tuple(instance.jobs[task] for task in sorted(tasks))}
    )
    lit = build_instance(farm, instance.legs, instance.dates).problem
    routes = tuple(replace(route, home_by=route.home_by + LATER_HOME) for route in lit.routes)
    visits = tuple(
        replace(visit, closes=visit.closes + LATER_HOME) if visit.closed_by_light else visit for visit in lit.visits
    )
    problem = replace(lit, routes=routes, visits=visits)
    everything = frozenset(range(len(problem.tasks)))
    problem = subproblem_of(problem, everything).problem if is_packed(problem) else problem
    found = least_extension(problem, 0, everything, stock_left(problem, ()), frozenset(), Budget(work))
    return GATES if found.seconds is None and found.least else NONE
