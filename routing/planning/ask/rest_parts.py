"""Some of a job's hives, where what is on board does not go round; and base come back to once, for more.

By the rule of the crew's page: of one job a day some of its hives may be done, where not enough is there for all of
them beside the other work of the day; base is come back to only where one load would not do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Farm, Job
from routing.farm.parts import Part, part_of
from routing.planning.ask.rest_load import AtBase, carried
from routing.planning.ask.rest_places import may_be_done
from routing.planning.ask.rest_search import Found, Looked, beam_of, completed, look
from routing.planning.ask.rest_size import MOST_PART_STEPS, sizes_of
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.problem import served

Score = tuple[Fraction, ...]


@dataclass(frozen=True)
class Share:
    """A job that is done at some of its hives."""

    task: int
    hives: int


@dataclass(frozen=True)
class Best:
    """The best rest of a day."""

    found: Found
    share: Share | None
    exact: bool
    """Whether all of it was looked at."""
    whole: bool
    """Whether at least every order was looked at that does not come back to base and does each job at all its hives."""
    by_base: bool
    """Whether base may be come back to: there is a trip left, and one load would not do."""


@dataclass(frozen=True, eq=False)
class _Ask:
    instance: Instance
    tasks: Sequence[int]
    shared: Callable[[Share], Instance]

    def score(self, found: Found | None, share: Share | None) -> Score:
        """Return the weight by rank, the same whatever the scale of the problem is that it was found in."""
        scale = (self.shared(share) if share is not None else self.instance).weight_scale
        return tuple(Fraction(int(each), scale) for each in found.score) if found is not None else ()


def best_rest(
    instance: Instance, tasks: Sequence[int], base: AtBase | None, shared: Callable[[Share], Instance]
) -> Best | None:
    """Return the best rest of a day of tasks in the order of the plan, None where there is too much even for a beam.

    `shared` gives the same day with a job at some of its hives: tasks keep their numbers.
    """
    tasks = may_be_done(instance.problem, tasks, base, lambda task: _in_part(instance, task))
    ask = _Ask(instance, tasks, shared)
    plain = look(instance.problem, tasks)
    if plain is None:
        return None
    found, share, exact = _with_shares(ask, plain, None)
    all_of_it = np.array([(1 << len(plain.numbers)) - 1], dtype=np.int64)
    by_base = base is not None and not carried(instance.problem, plain.numbers, None, all_of_it).allowed[0]
    if by_base:
        again = look(instance.problem, tasks, base)
        if again is not None:
            more, part, whole = _with_shares(ask, again, base)
            exact = exact and whole
            if _beats(ask, (more, part), (found, share)):
                found, share = more, part
    if found is not None and not exact:
        found = _in_best_order(ask, found, share, base)
    start = instance.problem.routes[0].earliest_leave
    return Best(found or Found((), start), share if found else None, exact, plain.sizes.whole, by_base)


def _beats(ask: _Ask, one: tuple[Found | None, Share | None], other: tuple[Found | None, Share | None]) -> bool:
    if one[0] is None or other[0] is None:
        return other[0] is None and one[0] is not None
    mine, its = ask.score(*one), ask.score(*other)
    return (mine, not one[0].dirty, -one[0].home) > (its, not other[0].dirty, -other[0].home)


def _in_best_order(ask: _Ask, found: Found, share: Share | None, base: AtBase | None) -> Found:
    """Return what a beam found in the best order that there is for it, where that can be looked at in full."""
    problem = (ask.instance if share is None else ask.shared(share)).problem
    done = served((found.order, found.later))
    mine = [task for task in ask.tasks if task in done]
    if not sizes_of(problem, mine, 2 if found.later else 1).whole:
        return found
    again = base if found.later else None
    looked = look(problem, mine, again)
    tried = None if looked is None else looked.best()
    if tried is None or tried.score != found.score or not _beats(ask, (tried, share), (found, share)):
        return found
    return completed(beam_of(problem, ask.tasks, again), tried)


def _with_shares(ask: _Ask, looked: Looked, base: AtBase | None) -> tuple[Found | None, Share | None, bool]:
    """Return the best day with all hives of each job or some of one, and whether all was looked at."""
    found, best = looked.best(), None
    score = ask.score(found, None)
    spent = 0.0
    for top, share in sorted(_groups(ask, looked), key=lambda group: group[0], reverse=True):
        if top < score:
            break
        spent += looked.sizes.steps
        if spent > MOST_PART_STEPS:
            return found, best, False
        tried = look(ask.shared(share).problem, ask.tasks, base)
        if tried is None:
            return found, best, False
        enough = carried(ask.instance.problem, looked.numbers, base, tried.sets).enough
        day = tried.best(tried.has(share.task) & ~enough)
        if _beats(ask, (day, share), (found, best)):
            found, best = day, share
            score = ask.score(found, share)
    return found, best, looked.sizes.whole


def _groups(ask: _Ask, looked: Looked) -> Iterator[tuple[Score, Share]]:
    """Yield each job at each number of its hives with the most that such a day can be worth."""
    if looked.carried.lacking:
        possible = looked.possible.copy()
        possible[0] = True
        sets = np.flatnonzero(possible)
        sets = sets[np.lexsort(tuple(-score[sets] for score in reversed(looked.scores)))]
        for task in looked.numbers:
            yield from _groups_of(ask, looked, task, sets)


def _groups_of(ask: _Ask, looked: Looked, task: int, sets: NDArray[np.int64]) -> Iterator[tuple[Score, Share]]:
    job, scale = ask.instance.jobs[task], ask.instance.weight_scale
    each = _each_hive(ask.instance, job)
    if not _in_part(ask.instance, task):
        return
    sets = sets[~looked.has(task)[sets]]
    most = np.full(len(sets), job.hives, dtype=np.int64)
    for supply, amount in each.items():
        if supply in looked.carried.left:
            most = np.minimum(most, _most_hives(looked.carried.left[supply][sets], amount, job.hives))
    hives, at = np.unique(most, return_index=True)
    tops = {int(count): int(sets[first]) for count, first in zip(hives, at, strict=True)}
    rank = ask.instance.problem.tasks[task].rank
    whole = Fraction(ask.instance.problem.tasks[task].weight, scale * job.hives)
    top: Score = ()
    for count in range(job.hives - 1, 0, -1):
        if count in tops:
            top = max(top, tuple(Fraction(int(score[tops[count]]), scale) for score in looked.scores))
        if top:
            yield (*top[:rank], top[rank] + whole * count, *top[rank + 1 :]), Share(task, count)


def _in_part(instance: Instance, task: int) -> bool:
    """Return whether some of a job's hives may be done: what takes nothing needs no sharing out."""
    job = instance.jobs[task]
    return job.hives > 1 and not job.to and bool(_each_hive(instance, job)) and part_of(job.id).count == 1


def _each_hive(instance: Instance, job: Job) -> dict[int, float]:
    """Return what one hive takes, in thousandths by supply."""
    takes = instance.farm.job_kinds[job.kind].takes
    return {instance.materials.index(use.material): use.a_hive.value * THOUSAND * job.helpings for use in takes}


def _most_hives(left: NDArray[np.float64], each: float, most: int) -> NDArray[np.int64]:
    """Return for how many hives what is left is enough."""
    needs = np.array([ceil(round(each * count, 6)) for count in range(most + 1)], dtype=np.float64)
    return np.maximum(0, np.searchsorted(needs, left, side="right") - 1)


def with_share(farm: Farm, job: str, hives: int) -> Farm:
    """Return the farm with a job in two parts: one of so many hives in its place, and last the one of the others."""
    jobs = list(farm.jobs)
    at = next(number for number, one in enumerate(jobs) if one.id == job)
    whole = jobs[at]
    both = (hives, whole.hives - hives)
    first, second = (
        whole.model_copy(
            update={
                "id": Part(whole.id, number, 2).id,
                "hives": count,
                "of_hives": whole.of_hives or whole.hives,
                "note": f"{count} of {whole.hives} hives left" + (f"; {whole.note}" if whole.note else ""),
            }
        )
        for number, count in enumerate(both, start=1)
    )
    jobs[at] = first
    return farm.model_copy(update={"jobs": (*jobs, second)})
