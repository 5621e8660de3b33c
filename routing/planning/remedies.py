"""The smallest change that would let a left-out visit in, each kind shown by planning again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from routing.farm.models import MOST_TRIPS, Rank
from routing.planning.build import Days, build_days
from routing.planning.engines.day_model import Relax
from routing.planning.engines.exact_day import Budget, least_extension
from routing.planning.engines.insertion import Rounds, construct
from routing.planning.left_out import Squeeze
from routing.planning.load import stock_left
from routing.planning.problem import Orders, Problem, rank_score, served
from routing.planning.reasons import Certain
from routing.round import ReasonCode, Remedy, RemedyKind
from routing.words import count, duration, people_words

LONGEST_STRETCH_SECONDS = 4 * 3600
"""A remedy that stretches the day by more than this is no remedy."""

SEARCH = Budget(work=4)
SEARCH_WITH_RETURNS = Budget(work=0.5)
"""Where a day may come back to base each question takes longer, and there are many."""


def remedies(days: Days, orders: Orders, squeeze: Squeeze) -> tuple[Remedy, ...]:
    """Return what would fit the squeezed tasks in, the rest of that crew's day kept as it is served now."""
    route = squeeze.route
    kept = served((orders[route],)) | set(squeeze.tasks)
    falls = squeeze.insertion.shortfalls
    short = [fall for fall in falls if fall.what.startswith("stock of")]
    if short:
        found = [
            Remedy(
                kind=RemedyKind.MORE_STOCK, amount=fall.amount, text=f"{fall.amount:g} {fall.unit} more {fall.what[9:]}"
            )
            for fall in short
        ]
    else:
        found = [*_stretches(days, orders, route, kept), *_more_hands(days, orders, route, kept)]
        found += _more_trips(days, route, kept) if {"payload", "space"} & {fall.what for fall in falls} else []
        found += [
            Remedy(
                kind=RemedyKind.OTHER_VEHICLE,
                amount=fall.amount,
                text=f"a vehicle with {fall.amount:g} {fall.unit} more {fall.what}",
            )
            for fall in falls
            if fall.what in {"payload", "space"} and len(falls) == 1
        ]
    return (*found, *_instead_of(days, orders, squeeze))


def certain_remedies(days: Days, tasks: tuple[int, ...], reason: Certain) -> tuple[Remedy, ...]:
    """Return what would let tasks be done that cannot be done even alone; each is shown by planning again."""
    if reason.code in {ReasonCode.TOO_DARK, ReasonCode.TOO_FAR, ReasonCode.NEEDS_PEOPLE}:
        return (*_alone_with_more_hands(days, tasks), *_alone_with_fewer_hives(days, tasks))
    if reason.code is ReasonCode.TOO_HEAVY:
        return tuple(_alone_with_fewer_hives(days, tasks))
    return ()


def _stock(days: Days, orders: Orders, route: int) -> list[int]:
    return stock_left(days.problem, served(tuple(order for number, order in enumerate(orders) if number != route)))


def _budget(problem: Problem, route: int) -> Budget:
    return SEARCH_WITH_RETURNS if problem.returns[route] else SEARCH


def _stretches(days: Days, orders: Orders, route: int, kept: frozenset[int]) -> Iterator[Remedy]:
    words = {
        Relax.LIGHT: (RemedyKind.MORE_LIGHT, "more light"),
        Relax.START: (RemedyKind.EARLIER_START, "earlier start"),
        Relax.HOME: (RemedyKind.LATER_HOME, "later home"),
    }
    for relax, (kind, text) in words.items():
        stock, budget = _stock(days, orders, route), _budget(days.problem, route)
        answer = least_extension(days.problem, route, kept, stock, frozenset({relax}), budget)
        if answer.seconds is not None and 0 < answer.seconds <= LONGEST_STRETCH_SECONDS:
            hedge = "" if answer.least else "at most "
            yield Remedy(kind=kind, amount=answer.seconds, text=f"{hedge}{duration(answer.seconds)} {text}")


def _more_hands(days: Days, orders: Orders, route: int, kept: frozenset[int]) -> Iterator[Remedy]:
    problem = _with_one_more(days, route)
    stock, budget = _stock(days, orders, route), _budget(problem, route)
    if least_extension(problem, route, kept, stock, frozenset(), budget).seconds is not None:
        people = days.crews[route].people + 1
        yield Remedy(kind=RemedyKind.MORE_PEOPLE, amount=1, text=f"one more pair of hands ({people_words(people)})")


def _more_trips(days: Days, route: int, kept: frozenset[int]) -> Iterator[Remedy]:
    """Yield that coming back to base once more would do, where an order of the crew's day shows it."""
    trips = days.crews[route].trips_a_day + 1
    if trips > MOST_TRIPS or days.farm.underway is not None:
        return
    rules = replace(days.problem.routes[route], most_trips=trips)
    problem = replace(days.problem, routes=(rules,))
    if kept <= served(construct(Rounds(problem), kept)):
        yield Remedy(kind=RemedyKind.MORE_TRIPS, amount=1, text=f"one more load from base (trips_a_day = {trips})")


def _with_one_more(days: Days, route: int) -> Problem:
    """Return the day's problem with one more person in one crew."""
    crew = days.crews[route]
    larger = crew.model_copy(update={"people": crew.people + 1})
    crews = tuple(larger if each.id == crew.id else each for each in days.farm.crews)
    return build_days(days.farm.model_copy(update={"crews": crews}), days.legs, days.dates).problem


def _instead_of(days: Days, orders: Orders, squeeze: Squeeze) -> Iterator[Remedy]:
    """Yield the least worthy stop whose absence makes room, found by local search over the rest."""
    problem, route = days.problem, squeeze.route
    rounds = Rounds(problem)
    by_worth = sorted(orders[route], key=lambda planned: rank_score(problem, frozenset(planned.tasks)))
    for planned in by_worth:
        shorter = tuple(stop for stop in orders[route] if stop != planned)
        start = (*orders[:route], shorter, *orders[route + 1 :])
        changed = construct(rounds, served(start) | set(squeeze.tasks), start)
        if set(squeeze.tasks) <= served(changed):
            name = days.sites[problem.visits[planned.visit].place - 1].name
            rank = list(Rank)[min(problem.tasks[task].rank for task in planned.tasks)]
            yield Remedy(kind=RemedyKind.LEAVE_OUT, amount=1, text=f"leave out {name} instead ({rank})")
            return


def _alone_with_more_hands(days: Days, tasks: tuple[int, ...]) -> Iterator[Remedy]:
    for route in range(len(days.crews)):
        problem = _with_one_more(days, route)
        rounds = Rounds(problem)
        if served(construct(rounds, frozenset(tasks))) >= set(tasks):
            people = days.crews[route].people + 1
            yield Remedy(kind=RemedyKind.MORE_PEOPLE, amount=1, text=f"a crew of {people}, with nothing else that day")
            return


def _alone_with_fewer_hives(days: Days, tasks: tuple[int, ...]) -> Iterator[Remedy]:
    """Yield the most hives of a single job that one crew could do if it did nothing else."""
    if len(tasks) != 1:
        return
    job = days.jobs[tasks[0]]
    low, high = 0, job.hives
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _fits_alone(days, tasks[0], middle) else (low, middle)
    if low:
        yield Remedy(kind=RemedyKind.LIGHTER_LOAD, amount=low, text=f"{count(low, 'hive')} of {job.hives} in one visit")


def _fits_alone(days: Days, task: int, hives: int) -> bool:
    smaller = days.jobs[task].model_copy(update={"hives": hives})
    problem = build_days(days.farm.model_copy(update={"jobs": (smaller,)}), days.legs, days.dates).problem
    rounds = Rounds(problem)
    return bool(served(construct(rounds, frozenset({0}))))
