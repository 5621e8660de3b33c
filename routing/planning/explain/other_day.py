"""The next dates on which left-out jobs could be done by a crew that does nothing else that day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from routing.plain_words import date_words
from routing.planning.model.build_instance import build_instance
from routing.planning.model.dates import crews_out
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Orders, served, used_by
from routing.planning.search.insertion import construct
from routing.round import Remedy, RemedyKind

NEXT_DAYS = 7
"""So many dates after the last of the round are looked at."""


def other_days(instance: Instance, orders: Orders, tasks: tuple[int, ...]) -> Iterator[Remedy]:
    """Yield the first later date, within what is due and promised, on which the jobs fit if nothing else is done.

    Each is planned on that date's light, opening hours and crews, with the stock that the round leaves. In the middle
    of a day nothing is said of others: the van is not at base.
    """
    jobs = [instance.jobs[task] for task in tasks]
    if instance.farm.underway is not None or any(job.promised is not None for job in jobs):
        return
    used = used_by(instance.problem, served(orders))
    taken = dict(zip(instance.materials, used, strict=True))
    stock = {name: max(0.0, amount - taken.get(name, 0) / THOUSAND) for name, amount in instance.farm.stock.items()}
    farm = instance.farm.model_copy(update={"jobs": tuple(jobs), "stock": stock})
    for ahead in range(1, NEXT_DAYS + 1):
        date = instance.dates[-1] + dt.timedelta(days=ahead)
        if any(job.due_by is not None and date > job.due_by for job in jobs) or not crews_out(farm, date):
            continue
        problem = build_instance(farm, instance.legs, (date,)).problem
        if served(construct(OrderCosts(problem), frozenset(range(len(jobs))))) == frozenset(range(len(jobs))):
            text = f"do it on {date_words(date)}, where it fits with nothing else that day"
            yield Remedy(kind=RemedyKind.OTHER_DAY, amount=(date - instance.dates[-1]).days, text=text)
            return
