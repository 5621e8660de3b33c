"""What is proved of a round, in words that name what it was compared with, and as numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from routing.farm.models import Rank
from routing.plain_words import at_least
from routing.planning.model.demands import ON_TIME_WEIGHT
from routing.planning.model.instance import Instance
from routing.planning.model.problem import rank_score, served
from routing.planning.search.balance import away_in_all
from routing.planning.search.solution import Solution
from routing.round import Proof


@dataclass(frozen=True)
class Solved:
    """A solution, and whether its time away was compared only with rounds in which no job is later than it must be."""

    solution: Solution
    on_time: bool


def proof_of(instance: Instance, candidates: frozenset[int], solved: Solved, *, surer: bool = False) -> Proof:
    """Return what is proved, in words that name what it was compared with, and as numbers."""
    solution, done = solved.solution, served(solved.solution.orders)
    numbers = Proof(
        optimal=solution.proven and not solution.interrupted,
        text="",
        stopped=solution.interrupted,
        rank_bounds=_rank_bounds(instance, candidates, done, solution),
        weight_scale=instance.weight_scale,
        away_bound_seconds=solution.away_bound,
    )
    if not instance.crews:
        return numbers.model_copy(update={"text": "No crew works on this date, so nothing can be done."})
    scope = _scope(instance, candidates, on_time=solved.on_time)
    if numbers.optimal and done == candidates:
        text = f"Proven: everything that can be done is done, and no round{scope} takes less time."
    elif numbers.optimal:
        text = f"Proven: no round{scope} does more of what matters most, and none that does as much takes less time."
    else:
        one_stop = _scope(instance, candidates, on_time=False)
        words = (
            f"{_served_words(instance, done, candidates, solution, one_stop)} {_time_words(instance, solution, scope)}"
        )
        each = f" Each day by itself is proven best for its sites{one_stop and f', of days{one_stop}'}."
        if surer:
            words = f"{words} The order was chosen because it holds more surely."
        text = words + (each if solution.days_proven and len(instance.crews) > 1 else "")
    if solution.interrupted:
        text = f"The search was stopped before its end: this is the best round found until then. {text}"
    return numbers.model_copy(update={"text": text})


def _scope(instance: Instance, candidates: frozenset[int], *, on_time: bool) -> str:
    """Say what a round was compared with, where that is not every round."""
    places: dict[tuple[int, int], int] = {}
    for visit in instance.problem.visits:
        here = (visit.day, visit.place)
        places[here] = max(places.get(here, 0), sum(task in candidates for task in visit.tasks))
    one_stop = " with one stop at a site" if any(tasks > 1 for tasks in places.values()) else ""
    late = " in which no job is later than it must be" if on_time else ""
    return f"{one_stop}{' and' if one_stop and late else ''}{late}"


def _rank_bounds(
    instance: Instance, candidates: frozenset[int], done: frozenset[int], solution: Solution
) -> tuple[int, ...]:
    """Return by rank the most weight that any round serves; past the first that is more than is done, that of all."""
    reached, most = rank_score(instance.problem, done), rank_score(instance.problem, candidates)
    open_rank = next((rank for rank, got in enumerate(reached) if solution.rank_bounds[rank] != got), len(reached))
    return (*solution.rank_bounds[: open_rank + 1], *most[open_rank + 1 :])


def _served_words(
    instance: Instance, done: frozenset[int], candidates: frozenset[int], solution: Solution, scope: str
) -> str:
    """Say how much more could be done at the very most: the first rank in which the bound is above what is done."""
    if done == candidates:
        return "Everything that can be done is done."
    reached = rank_score(instance.problem, done)
    for rank, got, most in zip(Rank, reached, solution.rank_bounds, strict=True):
        if most > got:
            jobs = math.ceil(10 * (most - got) / (ON_TIME_WEIGHT * instance.weight_scale)) / 10
            return (
                f"Not proven: another round{scope} may do more of rank “{rank}”, but at most {jobs:g} "
                f"{'job' if jobs == 1 else 'jobs'} more (a job a week late counts as two)."
            )
    return f"Proven: no round{scope} does more of what matters most."


def _time_words(instance: Instance, solution: Solution, scope: str) -> str:
    """Say by how much the time away could be shorter at the very most, for the same jobs."""
    away = away_in_all(instance.problem, solution.orders)
    if solution.away_bound <= 0 or away <= 0:
        return "A shorter round of the same jobs may exist."
    share = math.ceil(1000 * max(0, away - solution.away_bound) / away) / 10
    least = at_least(solution.away_bound)
    like = scope.strip().replace("with one", "one").replace(" and in which", ",").replace("in which no", "no")
    such = f" ({like})" if like else ""
    return f"No round of the same jobs{such} is away for less than {least}: this one is within {share:g} %."
