"""The smallest changes that would let a left-out visit in: each is planned again before it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from itertools import islice

from routing.farm.models import MOST_TRIPS
from routing.plain_words import people_words
from routing.planning.explain.alone import alone_remedies
from routing.planning.explain.case import Case, named
from routing.planning.explain.forced_insertion import ForcedInsertion
from routing.planning.explain.other_day import other_days
from routing.planning.explain.reasons import Certain
from routing.planning.explain.stretches import STRETCHES, Stretch
from routing.planning.explain.trial import Answer, built_again, crew_day, trial_for, tried
from routing.planning.explain.violation import Give, given
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.problem import LIMITLESS, NO_LIMIT, Order, Orders, used_by
from routing.planning.model.subproblem import is_large, subproblem_of
from routing.round import ReasonCode, Remedy, RemedyKind

MOST_TOLD = 3
"""So many remedies are told of one visit, those of the least harm."""

LOAD_STEP = 100
"""Payload and space are told to a tenth of a kilogram or litre."""


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
    case = Case(instance, orders, forced, problem, trial, order)
    return tuple(islice(_by_harm(case), MOST_TOLD))


def _by_harm(case: Case) -> Iterator[Remedy]:
    short = _short_of(case)
    if short:
        yield from other_days(case.instance, case.orders, case.forced.tasks)
        yield from _more_stock(case, short)
        return
    unchanged = tried(case.problem, case.trial, case.order)
    if unchanged.order:
        yield from _instead(case, unchanged)
        return
    stretches = [Stretch(case, relax) for relax in STRETCHES]
    small = [stretch for stretch in stretches if stretch.is_small]
    yield from (remedy for stretch in small for remedy in stretch.remedies)
    loaded = bool({"payload", "space"} & {fall.what for fall in case.forced.insertion.shortfalls})
    if loaded:
        yield from _more_trips(case)
    yield from other_days(case.instance, case.orders, case.forced.tasks)
    yield from _more_hands(case)
    yield from (remedy for stretch in stretches if stretch not in small for remedy in stretch.remedies)
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


def _instead(case: Case, answer: Answer) -> Iterator[Remedy]:
    """Yield what of lesser rank may be left out instead: the day as it is holds the rest."""
    lost = answer.lost(case.trial)
    if lost:
        text = f"leave out {named(case.instance, lost)} instead"
        yield Remedy(kind=RemedyKind.LEAVE_OUT, amount=len(lost), text=text)


def _more_trips(case: Case) -> Iterator[Remedy]:
    """Yield that coming back to base once more would do."""
    trips = case.instance.crews[case.route].trips_a_day + 1
    if trips > MOST_TRIPS or case.instance.farm.underway is not None:
        return
    more = replace(case.problem, routes=(replace(case.problem.routes[0], most_trips=trips),))
    answer = tried(more, case.trial, case.order)
    if answer.order:
        text = case.with_loss(f"one more load from base (trips_a_day = {trips})", answer)
        yield Remedy(kind=RemedyKind.MORE_TRIPS, amount=1, text=text)


def _more_hands(case: Case) -> Iterator[Remedy]:
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
                f"{text}, with {named(case.instance, frozenset(names[task] for task in answer.lost(trial)))} left out"
            )
        yield Remedy(kind=RemedyKind.MORE_PEOPLE, amount=1, text=text)


def _short_of(case: Case) -> list[tuple[int, int]]:
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


def _more_stock(case: Case, short: list[tuple[int, int]]) -> Iterator[Remedy]:
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


def _other_vehicle(case: Case) -> Iterator[Remedy]:
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


def _least_steps(case: Case, give: Callable[[int], Give]) -> tuple[int, bool, Answer] | None:
    """Return the fewest steps found by which the vehicle must carry more, whether fewer are refused, and an order."""

    def at(steps: int, start: Order, *, exact: bool = False) -> Answer:
        return tried(given(case.problem, give(steps)), case.trial, start, case.order, exact=exact, prove=exact)

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
    return high, case.alone and at(high - 1, found.order, exact=True).refused, found
