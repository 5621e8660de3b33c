"""When musts clash: a smallest set of them that one crew-day cannot hold, though it holds all but any one."""

from __future__ import annotations

from routing.planning.build import Days
from routing.planning.engines.insertion import Rounds, construct
from routing.planning.load import stock_left
from routing.planning.problem import served
from routing.words import count, date_words

CLASH_WORK = 5.0
"""Repeatable work units for each question to the exact search."""


def clash_words(days: Days, musts: frozenset[int]) -> str:
    """Return one sentence on a smallest clashing set of these tasks, or nothing where none is proven.

    Only for a round of one crew-day, where the exact search can prove that a set does not fit. Dropping the tasks one
    by one for as long as the rest still clash leaves a set of which every part fits.
    """
    if len(days.problem.routes) != 1 or _fits(days, musts) is not False:
        return ""
    clash = musts
    for task in sorted(musts, reverse=True):
        if len(clash) > 1 and _fits(days, clash - {task}) is False:
            clash -= {task}
    if any(_fits(days, clash - {task}) is not True for task in clash):
        return ""
    names = [
        f"{days.farm.site(days.jobs[t].site).name} ({days.farm.job_kinds[days.jobs[t].kind].name})"
        for t in sorted(clash)
    ]
    when = date_words(days.route_dates[0])
    return (
        f"These {count(len(names), 'must')} cannot all be done on {when}, whatever else is left: {', '.join(names)}. "
        "Without any one of them the others can."
    )


def _fits(days: Days, tasks: frozenset[int]) -> bool | None:
    """Return whether one crew-day holds all these tasks, None where the search ended without an answer."""
    rounds = Rounds(days.problem)
    if served(construct(rounds, tasks)) == tasks:
        return True
    from routing.planning.engines.exact_day import Budget, best_day  # noqa: PLC0415

    answer = best_day(days.problem, 0, tasks, stock_left(days.problem, ()), (), Budget(CLASH_WORK))
    if served((answer.order,)) == tasks:
        return True
    return False if answer.proven else None
