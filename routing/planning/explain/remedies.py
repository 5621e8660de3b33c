"""The smallest changes that would let a left-out visit in: each is planned again before it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice
from math import ceil

from routing.farm.models import MOST_TRIPS, Rank
from routing.plain_words import duration, people_words
from routing.planning import exact
from routing.planning.explain.alone import alone_remedies
from routing.planning.explain.forced_insertion import ForcedInsertion
from routing.planning.explain.other_day import other_days
from routing.planning.explain.reasons import Certain
from routing.planning.explain.trial import Answer, Trial, built_again, crew_day, trial_for, tried
from routing.planning.explain.violation import Give, given
from routing.planning.model.build_instance import build_instance
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.load import stock_left
from routing.planning.model.problem import LIMITLESS, NO_LIMIT, Order, Orders, Problem, used_by
from routing.planning.model.subproblem import is_large, subproblem_of
from routing.planning.running.budget import Budget
from routing.round import ReasonCode, Remedy, RemedyKind

MOST_TOLD = 3
"""So many remedies are told of one visit, those of the least harm."""

LONGEST_STRETCH_MINUTES = 240
"""A remedy that stretches the day by more is no remedy."""

SMALL_STRETCH_MINUTES = 60
"""A day may be stretched by so much before anything else is thought of; by more only where little else would do."""

LOAD_STEP = 100
"""Payload and space are told to a tenth of a kilogram or litre."""

STRETCH, STRETCH_WITH_RETURNS = Budget(work=2), Budget(work=0.5)
"""Where a day may come back to base each question takes longer, and there are many."""


@dataclass(frozen=True)
class _Case:
    """One crew-day, what it is to hold, and what it holds now."""

    instance: Instance
    orders: Orders
    forced: ForcedInsertion
    problem: Problem
    trial: Trial
    order: Order
    """What the crew does now, as stops of this problem."""

    @property
    def route(self) -> int:
        return self.forced.route

    @property
    def alone(self) -> bool:
        """Whether this is the only crew-day, so that what is least here is least of all."""
        return len(self.orders) == 1

    def with_loss(self, text: str, answer: Answer) -> str:
        """Return the text with what of lesser rank is then not done."""
        lost = answer.lost(self.trial)
        return f"{text}, with {_named(self.instance, lost)} left out" if lost else text


def remedies(
    instance: Instance, orders: Orders, tasks: tuple[int, ...], forced: ForcedInsertion | None
) -> tuple[Remedy, ...]:
    """Return at most three changes that would fit the tasks in, the least harm first.

    Each was planned again: the crew-day of the forced insertion then does the tasks, and all that it does now of their
    rank or above. That is: an earlier start, a later home or more light of up to an hour; leaving out what is of lesser
    rank; one load more; another day; one more person; more stock; a longer stretch; another vehicle. Without one only
    another day is looked at.
    """
    if forced is None:
        return tuple(other_days(instance, orders, tasks))
    problem, order = crew_day(instance.problem, orders, forced.route), orders[forced.route]
    trial = trial_for(problem, order, tasks)
    if is_large(problem):
        small = subproblem_of(problem, trial.needed | trial.others)
        problem, (order,) = small.problem, small.restricted((order,))
    case = _Case(instance, orders, forced, problem, trial, order)
    return tuple(islice(_by_harm(case), MOST_TOLD))


def _by_harm(case: _Case) -> Iterator[Remedy]:
    short = _short_of(case)
    if short:
        yield from other_days(case.instance, case.orders, case.forced.tasks)
        yield from _more_stock(case, short)
        return
    unchanged = tried(case.problem, case.trial, case.order)
    if unchanged.order:
        yield from _instead(case, unchanged)
        return
    stretches = list(_stretches(case))
    small = [remedy for remedy in stretches if remedy.amount <= SMALL_STRETCH_MINUTES * 60]
    yield from small
    loaded = bool({"payload", "space"} & {fall.what for fall in case.forced.insertion.shortfalls})
    if loaded:
        yield from _more_trips(case)
    yield from other_days(case.instance, case.orders, case.forced.tasks)
    yield from _more_hands(case)
    yield from (remedy for remedy in stretches if remedy not in small)
    if loaded:
        yield from _other_vehicle(case)


def certain_remedies(instance: Instance, orders: Orders, tasks: tuple[int, ...], reason: Certain) -> tuple[Remedy, ...]:
    """Return what would let tasks be done that cannot be done even alone; each is shown by planning again."""
    later = {
        ReasonCode.NO_CREW,
        ReasonCode.CLOSED,
        ReasonCode.TOO_DARK,
        ReasonCode.WEATHER,
        ReasonCode.TOO_FAR,
        ReasonCode.NO_VEHICLE,
        ReasonCode.NEEDS_PEOPLE,
    }
    found = other_days(instance, orders, tasks) if reason.code in later else iter(())
    return tuple(islice((*found, *alone_remedies(instance, tasks, reason.code)), MOST_TOLD))


def _named(instance: Instance, tasks: frozenset[int]) -> str:
    """Return the sites of tasks, each with its jobs and the greatest of their ranks."""
    found = []
    for site in dict.fromkeys(instance.jobs[task].site for task in sorted(tasks)):
        here = [instance.jobs[task] for task in sorted(tasks) if instance.jobs[task].site == site]
        kinds = ", ".join(dict.fromkeys(instance.farm.job_kinds[job.kind].name for job in here))
        rank = min((job.rank for job in here), key=list(Rank).index)
        found.append(f"{instance.farm.site(site).name} ({kinds}, {rank})")
    return " and ".join(found)


def _instead(case: _Case, answer: Answer) -> Iterator[Remedy]:
    """Yield what of lesser rank may be left out instead: the day as it is holds the rest."""
    lost = answer.lost(case.trial)
    if lost:
        text = f"leave out {_named(case.instance, lost)} instead"
        yield Remedy(kind=RemedyKind.LEAVE_OUT, amount=len(lost), text=text)


def _stretches(case: _Case) -> Iterator[Remedy]:
    """Yield the fewest minutes by which the day must begin sooner, end later, or have light for longer."""
    stretched = exact.circuit_model.Relax
    words = {
        stretched.START: (RemedyKind.EARLIER_START, "earlier start", "earlier"),
        stretched.HOME: (RemedyKind.LATER_HOME, "later home", "home"),
        stretched.LIGHT: (RemedyKind.MORE_LIGHT, "more light", "light"),
    }
    possible = {
        stretched.START: not case.instance.farm.underway,
        stretched.HOME: not _home_by_dusk(case),
        stretched.LIGHT: True,
    }
    for relax, (kind, text, what) in words.items():
        found = _fewest_minutes(case, relax, what) if possible[relax] else None
        if found is not None:
            minutes, least, answer = found
            hedge = "" if least and case.alone else "at most "
            told = case.with_loss(f"{hedge}{duration(60 * minutes)} {text}", answer)
            yield Remedy(kind=kind, amount=60 * minutes, text=told)


def _fewest_minutes(case: _Case, relax: exact.circuit_model.Relax, what: str) -> tuple[int, bool, Answer] | None:
    """Return the fewest minutes found, whether fewer are proved too few, and an order; None where none are enough.

    The exact search says how few could do; whatever is told is timed and loaded like any plan.
    """
    problem, trial = case.problem, case.trial

    def at(minutes: int, start: Order, *, exact: bool = False) -> Answer:
        return tried(given(problem, Give(**{what: 60 * minutes})), trial, start, case.order, exact=exact)

    budget = STRETCH_WITH_RETURNS if problem.returns[0] else STRETCH
    stock = stock_left(problem, ())
    stretch = exact.stretch.least_extension(problem, 0, trial.needed, stock, frozenset({relax}), budget)
    if stretch.seconds is None and stretch.least and not trial.others:
        return None
    first = LONGEST_STRETCH_MINUTES if stretch.seconds is None else max(1, ceil(stretch.seconds / 60))
    if first > LONGEST_STRETCH_MINUTES:
        return None
    answer = at(first, stretch.order)
    if answer.order and stretch.seconds is not None and stretch.least:
        if not trial.others or first == 1:
            return first, True, answer
        less = at(first - 1, answer.order, exact=True)  # others may lie on a way that is quicker
        if less.refused:
            return first, True, answer
        first, answer = (first - 1, less) if less.order else (first, answer)
    low, high = (0, first) if answer.order else (first, LONGEST_STRETCH_MINUTES)
    found = answer if answer.order else at(high, stretch.order)
    if not found.order:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        answer = at(middle, found.order)
        low, high, found = (low, middle, answer) if answer.order else (middle, high, found)
    return high, high > 1 and at(high - 1, found.order, exact=True).refused, found


def _home_by_dusk(case: _Case) -> bool:
    """Return whether it is dusk and not a clock that says when the crew must be home: then no later hour helps."""
    crew, date = case.instance.crews[case.route], case.instance.route_dates[case.route]
    if not crew.home_before_dark:
        return False
    free = crew.model_copy(update={"home_before_dark": False})
    farm = case.instance.farm.model_copy(update={"crews": (free,), "jobs": ()})
    there = build_instance(farm, case.instance.legs, (date,))
    return bool(there.crews) and _length(there.problem) > _length(case.problem)


def _length(problem: Problem) -> int:
    return problem.routes[0].home_by - problem.routes[0].earliest_leave


def _more_trips(case: _Case) -> Iterator[Remedy]:
    """Yield that coming back to base once more would do."""
    trips = case.instance.crews[case.route].trips_a_day + 1
    if trips > MOST_TRIPS or case.instance.farm.underway is not None:
        return
    more = replace(case.problem, routes=(replace(case.problem.routes[0], most_trips=trips),))
    answer = tried(more, case.trial, case.order)
    if answer.order:
        text = case.with_loss(f"one more load from base (trips_a_day = {trips})", answer)
        yield Remedy(kind=RemedyKind.MORE_TRIPS, amount=1, text=text)


def _more_hands(case: _Case) -> Iterator[Remedy]:
    """Yield that one more person in the crew would do, the day built again from the farm."""
    again = built_again(case.instance, case.route, case.trial, people=1)
    if again is None:
        return
    larger, trial = again
    stock = [supply.stock for supply in case.problem.supplies]
    larger = replace(
        larger, supplies=tuple(replace(s, stock=left) for s, left in zip(larger.supplies, stock, strict=True))
    )
    answer = tried(larger, trial)
    if answer.order:
        people = case.instance.crews[case.route].people + 1
        text = f"one more pair of hands ({people_words(people)})"
        if answer.lost(trial):
            names = sorted(case.trial.needed | case.trial.others)
            text = (
                f"{text}, with {_named(case.instance, frozenset(names[task] for task in answer.lost(trial)))} left out"
            )
        yield Remedy(kind=RemedyKind.MORE_PEOPLE, amount=1, text=text)


def _short_of(case: _Case) -> list[tuple[int, int]]:
    """Return the supplies, and how many thousandths, that lack for what is needed: whole packs, tenths or pieces."""
    short = []
    for supply, used in enumerate(used_by(case.problem, case.trial.needed)):
        facts = case.problem.supplies[supply]
        if facts.stock == NO_LIMIT or used <= facts.stock:
            continue
        whole = (
            THOUSAND if case.instance.farm.materials[case.instance.materials[supply]].unit == "pieces" else LOAD_STEP
        )
        step = facts.pack or whole
        short.append((supply, -(-(used - facts.stock) // step) * step))
    return short


def _more_stock(case: _Case, short: list[tuple[int, int]]) -> Iterator[Remedy]:
    """Yield what must be bought, told only where the jobs are done with it."""
    extra = dict(short)
    supplies = tuple(
        replace(supply, stock=supply.stock + extra.get(number, 0))
        for number, supply in enumerate(case.problem.supplies)
    )
    answer = tried(replace(case.problem, supplies=supplies), case.trial, case.order)
    if not answer.order:
        return
    parts = []
    for number, amount in short:
        facts = case.instance.farm.materials[case.instance.materials[number]]
        packs = (
            f" ({amount // supplies[number].pack} \N{MULTIPLICATION SIGN} {facts.pack})"
            if supplies[number].pack
            else ""
        )
        parts.append(f"{amount / THOUSAND:g} {facts.unit} more {facts.name}{packs}")
    text = case.with_loss(" and ".join(parts), answer)
    yield Remedy(kind=RemedyKind.MORE_STOCK, amount=short[0][1] / THOUSAND, text=text)


def _other_vehicle(case: _Case) -> Iterator[Remedy]:
    """Yield the least more payload or space that would do, where that alone does.

    Of a shared-out job nothing is said: in a larger vehicle it would be shared out otherwise.
    """
    if any(case.instance.jobs[task].of_hives for task in case.trial.needed):
        return
    for what, unit, name in (("grams", "kg", "payload"), ("millilitres", "litres", "space")):
        found = _least_steps(case, partial(_give, what))
        if found is None:
            continue
        steps, least, answer = found
        amount, hedge = steps * LOAD_STEP / THOUSAND, "" if least and case.alone else "at most "
        text = case.with_loss(f"a vehicle with {hedge}{amount:g} {unit} more {name}", answer)
        yield Remedy(kind=RemedyKind.OTHER_VEHICLE, amount=amount, text=text)
        return


def _give(what: str, steps: int) -> Give:
    return Give(**{what: steps * LOAD_STEP})


def _least_steps(case: _Case, give: Callable[[int], Give]) -> tuple[int, bool, Answer] | None:
    """Return the fewest steps found by which the vehicle must carry more, whether fewer are refused, and an order."""

    def at(steps: int, start: Order, *, exact: bool = False) -> Answer:
        return tried(given(case.problem, give(steps)), case.trial, start, case.order, exact=exact)

    most = LIMITLESS // LOAD_STEP // 4
    high = 1
    found = at(most, ())
    if not found.order:
        return None
    low = 0
    while not (answer := at(high, found.order)).order:
        low, high = high, 2 * high
    found = answer
    while high - low > 1:
        middle = (low + high) // 2
        answer = at(middle, found.order)
        low, high, found = (low, middle, answer) if answer.order else (middle, high, found)
    return high, at(high - 1, found.order, exact=True).refused, found
