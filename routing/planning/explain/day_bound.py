"""What a day needs whatever the order, and the light that there is for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from routing.planning.bounds.spanning_tree import least_joining, least_work
from routing.planning.model.instance import Instance
from routing.planning.model.problem import Problem


@dataclass(frozen=True)
class DayBound:
    """A count that no order can beat, in seconds, and what it is compared with."""

    work: int
    driving: int
    rest: int
    """The break, where it must be taken: before the first work it takes the least light."""
    light: int
    """From the earliest first start, after the break, to the latest last finish."""
    joined: bool = True
    """Whether the driving between the sites is counted."""

    @property
    def missing(self) -> int:
        """Seconds that are lacking at the very least; 0 or less where the bound proves nothing."""
        return self.work + self.driving - self.light


def day_bound(instance: Instance, tasks: frozenset[int]) -> DayBound:
    """Return what the day needs whatever the order and loads: all work, and the least driving that joins the sites.

    The sites must be joined by at least as much driving as their least spanning tree (each pair at the shorter of
    its two directions). The light runs from the earliest first start of any crew to its latest last finish, all crews
    added up; for one crew the break comes before the first start where it must be
    taken. Source: the spanning tree as a lower bound of every
    path, Held and Karp, Operations Research 18 (1970), from memory, not checked.
    """
    return bound_of(instance.problem, tasks)


def bound_of(whole: Problem, tasks: frozenset[int]) -> DayBound:
    """Return what `day_bound` does, of a problem."""
    problem = whole.relaxation
    places = sorted({visit.place for visit in problem.visits if not tasks.isdisjoint(visit.tasks)})
    return _bound(problem, tasks, places, least_joining(problem, places, len(problem.routes)))


def bound_without_driving(instance: Instance, tasks: frozenset[int]) -> DayBound:
    """Return the same without the driving that joins the sites."""
    problem = instance.problem.relaxation
    places = sorted({visit.place for visit in problem.visits if not tasks.isdisjoint(visit.tasks)})
    return replace(_bound(problem, tasks, places, 0), joined=False)


def _bound(problem: Problem, tasks: frozenset[int], places: Sequence[int], driving: int) -> DayBound:
    visits = [visit for visit in problem.visits if not tasks.isdisjoint(visit.tasks)]
    work = least_work(problem, tasks)
    rest = 0
    if len(problem.routes) == 1:
        rules = problem.routes[0]
        ends = min(int(rules.drive_seconds[0, p]) for p in places) + min(int(rules.drive_seconds[p, 0]) for p in places)
        if work + driving + ends > rules.break_after_seconds:
            rest = rules.break_seconds
    spans = []
    for r in problem.routes:
        own = [visit for visit in visits if visit.day == r.day]
        closed = max((min(v.closes, r.home_by - int(r.drive_seconds[v.place, 0])) for v in own), default=0)
        begun = (max(v.opens, r.earliest_leave + rest + int(r.drive_seconds[0, v.place])) for v in own)
        spans.append(closed - min(begun, default=0))
    return DayBound(work, driving, rest, sum(max(0, span) for span in spans))
