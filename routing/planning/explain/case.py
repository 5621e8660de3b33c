"""One crew-day, what it is to hold besides what it holds now, and how what is lost by that is named."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from routing.farm.models import Rank
from routing.planning.explain.forced_insertion import ForcedInsertion
from routing.planning.explain.trial import Answer, Trial, seconds_missing
from routing.planning.model.instance import Instance
from routing.planning.model.problem import Order, Orders, Problem


@dataclass(frozen=True)
class Case:
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
        """The number of the crew-day."""
        return self.forced.route

    @cached_property
    def seconds_missing(self) -> int:
        """Seconds that this crew-day lacks at the very least for what it is to hold."""
        return seconds_missing(self.problem, self.trial.needed)

    @property
    def alone(self) -> bool:
        """Whether this is the only crew-day, so that what is least here is least of all."""
        return len(self.orders) == 1

    def with_loss(self, text: str, answer: Answer) -> str:
        """Return the text with what of lesser rank is then not done."""
        lost = answer.lost(self.trial)
        return f"{text}, with {named(self.instance, lost)} left out" if lost else text


def named(instance: Instance, tasks: frozenset[int]) -> str:
    """Return the sites of tasks, each with its jobs and the greatest of their ranks."""
    found = []
    for site in dict.fromkeys(instance.jobs[task].site for task in sorted(tasks)):
        here = [instance.jobs[task] for task in sorted(tasks) if instance.jobs[task].site == site]
        kinds = ", ".join(dict.fromkeys(instance.farm.job_kinds[job.kind].name for job in here))
        rank = min((job.rank for job in here), key=list(Rank).index)
        found.append(f"{instance.farm.site(site).name} ({kinds}, {rank})")
    return " and ".join(found)
