"""What the jobs ask for and the base holds: tasks with their weights, and supplies."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from functools import partial
from math import ceil

from routing.farm.models import Farm, Figure, Job, JobKind, MaterialUse, Rank
from routing.planning.model.dates import days_overdue, whole_seconds
from routing.planning.model.problem import NO_LIMIT, Supply, Task
from routing.planning.model.supply_on_board import OnBoard

ON_TIME_WEIGHT = 7
"""A job counts this much and one more for each day overdue: a week late counts as two on time."""


LONGEST_OVERDUE_DAYS = 365


THOUSAND = 1000


def task_of(job: Job, kind: JobKind, supply_index: dict[str, int], date: dt.date, scale: int) -> Task:
    """Return what a job asks for; its material by index."""

    def amounts(uses: Iterable[MaterialUse], times: int = 1) -> tuple[tuple[int, int], ...]:
        return tuple((supply_index[use.material], _thousandths(use.a_hive, job.hives * times)) for use in uses)

    return Task(
        set_up_seconds=whole_seconds(kind.minutes_a_visit.value),
        rank=list(Rank).index(job.rank),
        weight=_weight(job, date, scale),
        uses=amounts(kind.takes, job.helpings),
        back=() if job.to else amounts(kind.brings_back),
        carried=amounts(kind.brings_back) if job.to else (),
        people=kind.people,
    )


def _weight(job: Job, date: dt.date, scale: int) -> int:
    """Return what a job counts inside its rank; a part of one its share of the hives."""
    whole = (ON_TIME_WEIGHT + min(days_overdue(job, date), LONGEST_OVERDUE_DAYS)) * scale
    return whole * job.hives // job.of_hives if job.of_hives else whole


def _thousandths(a_hive: Figure, hives: int) -> int:
    return ceil(round(a_hive.value * hives * THOUSAND, 6))


def supply_of(farm: Farm, material: str) -> Supply:
    """Return what the base holds of a material, and its weight and size as loaded."""
    facts = farm.materials[material]
    stock = farm.stock.get(material)
    now = farm.underway
    brought = round(now.brought.get(material, 0) * THOUSAND) if now is not None and now.counted else None
    kind = Supply if brought is None else partial(OnBoard, brought=brought)
    return kind(
        pack=round(facts.sold_by.value * THOUSAND) if facts.sold_by else 0,
        stock=NO_LIMIT if stock is None else int(round(stock * THOUSAND, 6)),
        grams_each=facts.kg_each.value,
        millilitres_each=facts.litres_each.value,
    )
