"""An instance: a problem for one date or several with what its indices stand for, and the narrower problems of it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from routing.farm.models import Crew, Farm, Job, Site
from routing.planning.model.dates import days_overdue, local_midnight, may_be_done
from routing.planning.model.problem import Orders, Problem
from routing.travel.legs import Legs


@dataclass(frozen=True)
class Instance:
    """A problem for one date or several, and what its indices stand for; seconds count from the first midnight."""

    dates: tuple[dt.date, ...]
    """In order, each once, at least one."""
    zone: ZoneInfo
    farm: Farm
    legs: Legs
    problem: Problem
    jobs: tuple[Job, ...]
    """Shape (tasks,)."""
    sites: tuple[Site, ...]
    """Shape (places - 1,): the site at which place i + 1 is entered: the farm's sites, then one place for each move."""
    task_places: tuple[int, ...]
    """Shape (tasks,): the place of each task."""
    rows: tuple[tuple[int, int], ...]
    """Shape (places,): the rows of the legs at which a place is entered and from which it is left; two for a move."""
    crews: tuple[Crew, ...]
    """Shape (routes,): who goes; a route is one crew on one date."""
    route_dates: tuple[dt.date, ...]
    """Shape (routes,): when."""
    materials: tuple[str, ...]
    """Shape (supplies,)."""
    weight_scale: int
    """By which all weights are multiplied, so that a part of a job weighs its share of the hives in whole numbers."""
    not_due: tuple[Job, ...]

    @property
    def midnight(self) -> dt.datetime:
        """The instant from which the problem's seconds count."""
        return local_midnight(self.dates[0], self.zone)

    @property
    def date(self) -> dt.date:
        """The first date."""
        return self.dates[0]

    def left_from(self, place: int) -> Site:
        """Return the site from which a place other than the base is left."""
        return self.sites[self.rows[place][1] - 1]

    def clock(self, seconds: int) -> dt.datetime:
        """Return the local time that a count of seconds stands for."""
        instant = self.midnight.astimezone(dt.UTC) + dt.timedelta(seconds=seconds)
        return instant.astimezone(self.zone)


def on_time(instance: Instance) -> Problem:
    """Return the problem in which no task is done after its due date on any date but the first that it may be done.

    Visits keep their numbers, so that orders of one problem are orders of the other.
    """
    first = {
        task: next((date for date in instance.dates if may_be_done(job, date)), instance.date)
        for task, job in enumerate(instance.jobs)
    }

    def in_time(task: int, date: dt.date) -> bool:
        due_by = instance.jobs[task].due_by
        return due_by is None or date <= max(due_by, first[task])

    visits = tuple(
        replace(visit, tasks=tuple(task for task in visit.tasks if in_time(task, instance.dates[visit.day])))
        for visit in instance.problem.visits
    )
    return replace(instance.problem, visits=visits)


def no_later(instance: Instance, orders: Orders) -> Problem:
    """Return the problem of the tasks in these orders alone, in which none is more days overdue than there.

    Visits keep their numbers, so that orders of one problem are orders of the other.
    """
    late = {
        task: days_overdue(instance.jobs[task], instance.route_dates[route])
        for route, order in enumerate(orders)
        for planned in order
        for task in planned.tasks
    }

    def may(task: int, date: dt.date) -> bool:
        return task in late and days_overdue(instance.jobs[task], date) <= late[task]

    visits = tuple(
        replace(visit, tasks=tuple(task for task in visit.tasks if may(task, instance.dates[visit.day])))
        for visit in instance.problem.visits
    )
    return replace(instance.problem, visits=visits)
