"""One date or several planned from end to end: candidates, orders, what is left out and how good it all is."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import suppress
from dataclasses import dataclass, field, replace

from routing.plain_words import duration, minutes_words
from routing.planning.ahead import Ahead, Question
from routing.planning.ask.fit import Fitted, fit
from routing.planning.ask.given_days import GivenDay, given_orders
from routing.planning.chance.surest_order import surer
from routing.planning.explain.left_out import not_due_entries
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import certain_reasons
from routing.planning.itineraries import build_round
from routing.planning.model.instance import Instance, no_later, on_time
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Orders, Problem, rank_score, served, widest
from routing.planning.model.subproblem import is_large
from routing.planning.proof_words import Solved, proof_of
from routing.planning.running.budget import Budget
from routing.planning.running.parts import MOST_ALONE, Later, Parts
from routing.planning.running.time_limit import TimeOverError, within
from routing.planning.search import filling
from routing.planning.search.balance import away_in_all, away_of_each, balanced, longest
from routing.planning.search.insertion import fill
from routing.planning.search.settings import MOST_CLOSED, alone
from routing.planning.search.solution import Solution
from routing.planning.search.solve import solve
from routing.round import EvenDays, FitAnswer, LeftOut, Proof, Round, SurestOrder

REMEDY_SHARE = 0.1
EVEN_SHARE = 0.3
"""Of a given time, what is kept for reasons and remedies, and for making the days even where that is asked for."""

LEAST_GAIN_SECONDS = 60
"""A longest day that is shorter by less is not worth the price."""

MOST_FILLED = 3
"""Even days may leave room for a job more: it is taken, and the days are made even again, so many times."""


@dataclass(frozen=True)
class SoFar:
    """The best orders until now, for whoever waits for them."""

    jobs: int
    of: int
    """All jobs that are due."""
    away_seconds: int
    """Over all crews and days."""
    longest_seconds: int = 0
    """Of one crew's day; 0 until the days are made even."""
    days: tuple[GivenDay, ...] = ()
    """The orders themselves."""


@dataclass(frozen=True)
class Wish:
    """How long the search may take by the clock, and who hears of every better set of orders."""

    seconds: float | None = None
    """Where given, the search ends then, earlier only where the best is proven, and depends on the machine."""
    progress: Callable[[SoFar], None] | None = None
    even: bool = False
    """Whether the days are made even: the longest time away of any crew's day as short as the same jobs allow."""
    surest: bool = True
    """Whether of orders that are hardly longer the one is taken that holds most surely; never where days are even."""
    explained: bool = True
    """Whether what would save left-out work, and which musts clash, is sought: mostly that takes longest."""
    bounded: bool = True
    """Whether it is sought how good the orders are; where not, only of rounds so small that it finds the best."""
    brief: bool = False
    """Whether only a brief search is asked for, without bounds."""
    executor: Executor | None = None
    """Who does the parts of the work, a cluster for instance; processes of this machine where none is given."""


@dataclass(frozen=True)
class Watch:
    """A wish under way."""

    instance: Instance
    wish: Wish
    begun: float
    parts: Parts = field(default_factory=alone)

    @property
    def searched(self) -> float:
        """The share of the time after which the search for the best is over."""
        return 1 - REMEDY_SHARE - EVEN_SHARE * self.wish.even

    def end(self, share: float) -> float | None:
        """Return the instant at which that share of the time is over, None where there is no end."""
        return None if self.wish.seconds is None else self.begun + share * self.wish.seconds

    def left(self, share: float) -> float | None:
        """Return the seconds until then, never quite none."""
        end = self.end(share)
        return None if end is None else max(LEAST_SECONDS, end - time.monotonic())

    def hear(self, orders: Orders) -> None:
        """Tell of better orders."""
        if self.wish.progress is not None:
            self.wish.progress(self._so_far(orders))

    def hear_even(self, orders: Orders) -> None:
        """Tell of more even orders."""
        if self.wish.progress is not None:
            longest_of_all = max(away_of_each(self.instance.problem, orders))
            self.wish.progress(replace(self._so_far(orders), longest_seconds=longest_of_all))

    def _so_far(self, orders: Orders) -> SoFar:
        problem = self.instance.problem
        return SoFar(
            len(served(orders)),
            len(problem.tasks),
            away_in_all(problem, orders),
            days=given_orders(self.instance, orders),
        )


BRIEF_WORK = 1.0
"""Of a brief search: 78 jobs by two crews then take 6 s, for 14."""

LEAST_SECONDS = 0.5
"""A search gets at least this, however late it is."""


def plan_days(instance: Instance, work: float = 60, wish: Wish | None = None) -> Round:
    """Return the best round found for the dates; `work` is the repeatable search budget for a crew's day.

    Ctrl-C keeps the best until then, and raises KeyboardInterrupt where there is none.
    """
    wish = wish or Wish()
    with Parts(wish.executor, few=len(instance.problem.tasks) <= MOST_ALONE) as parts:
        return _planned(instance, work, Watch(instance, wish, time.monotonic(), parts))


def _planned(instance: Instance, work: float, watch: Watch) -> Round:
    certain = certain_reasons(instance)
    candidates = frozenset(range(len(instance.problem.tasks))) - certain.keys()
    wish = watch.wish
    question = Question(instance, candidates, certain, (), surest=is_made_surer(wish))
    ahead = Ahead(question, watch.parts, end=watch.end(1), wanted=wish.explained and not wish.even)
    solved = best_orders(instance, candidates, work, watch, ahead)
    solution, even = solved.solution, None
    ahead.heed(solution.orders)
    if wish.even:
        solution, even = _even(instance, candidates, solution, work, watch)
    solution, surest = _surer(instance, candidates, solution, watch)
    proof = proof_of(instance, candidates, Solved(solution, solved.on_time), surer=surest is not None)
    entries, clash, stopped = _told(question, solution, watch, ahead)
    if stopped and not proof.stopped:
        text = f"{proof.text} The search for what would save left-out visits was stopped."
        proof = proof.model_copy(update={"stopped": True, "text": text})
    told = {"clash": clash, "even": even, "surest": surest}
    return build_round(instance, solution.orders, entries, proof).model_copy(update=told)


def is_made_surer(wish: Wish) -> bool:
    """Return whether orders are made surer; even days are left as they are: they were asked for."""
    return wish.surest and not wish.even


def _surer(
    instance: Instance, candidates: frozenset[int], solution: Solution, watch: Watch
) -> tuple[Solution, SurestOrder | None]:
    """Return the orders by which what must be done holds most surely, at hardly more time away, and what that costs."""
    if not is_made_surer(watch.wish) or solution.interrupted:
        return solution, None
    shortest = solution.proven or solution.away_bound == away_in_all(instance.problem, solution.orders)
    try:
        with within(watch.end(1)):
            orders, told = surer(instance, solution.orders, candidates, proven=shortest)
    except TimeOverError:
        return solution, None
    except KeyboardInterrupt:
        return replace(solution, interrupted=True), None
    if told is None:
        return solution, None
    as_short = told.extra_seconds <= 0
    proven, days_proven = solution.proven and as_short, solution.days_proven and not told.extra_seconds
    return replace(solution, orders=orders, proven=proven, days_proven=days_proven), told


def _even(
    instance: Instance, candidates: frozenset[int], solution: Solution, work: float, watch: Watch
) -> tuple[Solution, EvenDays]:
    """Return the orders of the same tasks with the days made even, no task more overdue, and what that took.

    Where even days leave room for a task more, that comes first: the round that has it is made even in its turn.
    """
    why_not = "no round of the same jobs was found whose longest day is shorter by a minute"
    for _ in range(MOST_FILLED):
        before = solution.orders
        if solution.interrupted or len(before) <= 1:
            why_not = "the search was stopped before they were sought" if before[1:] else "there is only one day"
            break
        end = watch.end(1 - REMEDY_SHARE)
        found = balanced(no_later(instance, before), before, Budget(work, end), progress=watch.hear_even)
        solution = replace(solution, interrupted=found.interrupted)
        orders = widest(instance.problem, found.orders)
        filled = widest(instance.problem, fill(OrderCosts(instance.problem), orders, candidates))
        if served(filled) != served(before):
            solution = replace(solution, orders=filled, proven=False, days_proven=False, away_bound=0)
            continue
        if longest(instance.problem, before) - longest(instance.problem, orders) < LEAST_GAIN_SECONDS:
            break
        proven = found.days_proven and served(orders) == candidates
        solution = replace(solution, orders=orders, proven=False, days_proven=proven)
        return solution, _price(instance.problem, before, orders)
    same = longest(instance.problem, solution.orders)
    text = f"Even days: {why_not}."
    return solution, EvenDays(longest_before_seconds=same, longest_seconds=same, extra_seconds=0, text=text)


def _price(problem: Problem, before: Orders, after: Orders) -> EvenDays:
    """Return what even days take in numbers and words."""
    old, new = longest(problem, before), longest(problem, after)
    extra = away_in_all(problem, after) - away_in_all(problem, before)
    minutes = round(abs(extra) / 60)
    price = f"{minutes_words(minutes)} {'less' if extra < 0 else 'more'}" if minutes else "as long"
    text = f"Even days: the longest day is {duration(new)} instead of {duration(old)}; all together {price} away."
    return EvenDays(longest_before_seconds=old, longest_seconds=new, extra_seconds=extra, text=text)


def _told(asked: Question, solution: Solution, watch: Watch, ahead: Ahead) -> tuple[list[LeftOut], str, bool]:
    """Return what is left out, a clash of musts in words, and whether Ctrl-C cut the search for remedies short."""
    if watch.wish.explained and not solution.interrupted:
        with suppress(KeyboardInterrupt):  # the round stands; only what would help is not known
            found = ahead.explained(solution.orders)
            return found.entries, found.clash, False
    return left_out_entries(asked.instance, solution.orders, asked.certain, remedied=0), "", watch.wish.explained


def best_orders(
    instance: Instance, candidates: frozenset[int], work: float, watch: Watch, ahead: Ahead | None = None
) -> Solved:
    """Return the best orders in which nothing is late, or, only where that serves more, the best of all.

    Of what is left out when nothing may be late, all that still fits on a later day is done late.
    """
    punctual = on_time(instance)
    alike = punctual.visits == instance.problem.visits
    whole, half = watch.searched, watch.searched / 2
    first, rest = watch.left(whole if alike else half), None if alike else watch.left(whole)
    begun: list[Later[Solution]] = []

    def hear(orders: Orders) -> None:
        if alike and ahead is not None:
            ahead.begin(orders)
        elif not alike and prove and first is None and served(orders) != candidates and watch.parts.beside:
            begun.append(watch.parts.begin(_late, (replace(instance.problem), candidates, work)))

    prove = (watch.wish.bounded or len(candidates) <= MOST_CLOSED) and not watch.wish.brief
    work = min(work, BRIEF_WORK) if watch.wish.brief else work
    solution = solve(
        *(punctual, candidates, work),
        seconds=first,
        longer=rest,
        progress=watch.hear,
        prove=prove,
        parts=watch.parts,
        searched=hear,
    )
    if served(solution.orders) == candidates or alike:
        return Solved(solution, on_time=not alike)
    filled = _filled(instance.problem, solution.orders, candidates)
    unbounded = Solution(
        widest(instance.problem, filled),
        proven=False,
        days_proven=False,
        rank_bounds=rank_score(instance.problem, candidates),
        away_bound=0,
        interrupted=True,
    )
    if solution.interrupted:
        return Solved(unbounded, on_time=False)
    late = _in_whole(instance, candidates, work, watch, begun, prove=prove)
    if late is None:
        return Solved(unbounded, on_time=False)
    if rank_score(instance.problem, served(late.orders)) > rank_score(instance.problem, served(filled)):
        return Solved(late, on_time=False)
    same = served(filled) == served(solution.orders)
    found = replace(
        solution,
        orders=widest(instance.problem, filled),
        proven=False,
        days_proven=solution.days_proven and same,
        rank_bounds=late.rank_bounds,
        away_bound=solution.away_bound if same else 0,
        interrupted=late.interrupted,
    )
    return Solved(found, on_time=same)


def _in_whole(
    instance: Instance,
    candidates: frozenset[int],
    work: float,
    watch: Watch,
    begun: Sequence[Later[Solution]],
    *,
    prove: bool,
) -> Solution | None:
    """Return the best orders in which jobs may be late, where others have begun that theirs; None at Ctrl-C."""
    try:
        late = begun[0].answer() if begun else None
        return late or solve(
            *(instance.problem, candidates, work),
            seconds=watch.left(watch.searched),
            progress=watch.hear,
            prove=prove,
            parts=watch.parts,
        )
    except KeyboardInterrupt:
        return None


def _filled(problem: Problem, orders: Orders, tasks: frozenset[int]) -> Orders:
    """Return the orders with every task that still fits."""
    fill_in = filling.filled if is_large(problem) else fill
    return fill_in(OrderCosts(problem), orders, tasks)


def _late(asked: tuple[Problem, frozenset[int], float]) -> Solution:
    problem, candidates, work = asked
    return solve(problem, candidates, work)


def fit_day(instance: Instance) -> FitAnswer:
    """Return whether everything due can be done on the date, with the round where it can."""
    fitted: Fitted = fit(instance)
    if not fitted.answer.fits:
        return fitted.answer
    text = "Everything due is done; no shorter way was sought."
    proof = Proof(optimal=False, text=text, weight_scale=instance.weight_scale)
    return fitted.answer.model_copy(
        update={
            "round": build_round(instance, widest(instance.problem, fitted.orders), not_due_entries(instance), proof)
        }
    )
