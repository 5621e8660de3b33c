"""What would let jobs be done that cannot be done even alone: another hand, or fewer hives at once."""

from __future__ import annotations

from collections.abc import Iterator

from routing.plain_words import count
from routing.planning.model.build_instance import build_instance
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import served
from routing.planning.search.insertion import construct
from routing.round import ReasonCode, Remedy, RemedyKind

TOO_LONG = frozenset({ReasonCode.TOO_DARK, ReasonCode.TOO_FAR, ReasonCode.CLOSED})


def alone_remedies(instance: Instance, tasks: tuple[int, ...], code: ReasonCode) -> Iterator[Remedy]:
    """Yield what would do for tasks that are left out for this certain reason, each shown by planning again."""
    if code in TOO_LONG | {ReasonCode.NEEDS_PEOPLE}:
        yield from _with_more_hands(instance, tasks)
    if code in TOO_LONG | {ReasonCode.TOO_HEAVY}:
        yield from _with_fewer_hives(instance, tasks)


def _with_more_hands(instance: Instance, tasks: tuple[int, ...]) -> Iterator[Remedy]:
    """Yield the first crew that could do all of it with one person more, if it did nothing else."""
    jobs = tuple(instance.jobs[task] for task in tasks)
    for crew in dict.fromkeys(crew.id for crew in instance.crews):
        crews = tuple(
            one.model_copy(update={"people": one.people + 1}) if one.id == crew else one for one in instance.farm.crews
        )
        farm = instance.farm.model_copy(update={"crews": crews, "jobs": jobs})
        again = build_instance(farm, instance.legs, instance.dates)
        everything = frozenset(range(len(again.jobs)))
        own = [number for number, one in enumerate(again.crews) if one.id == crew]
        found = construct(OrderCosts(again.problem), everything)
        if served(tuple(found[number] for number in own)) == everything:
            people = again.crews[own[0]].people
            yield Remedy(kind=RemedyKind.MORE_PEOPLE, amount=1, text=f"a crew of {people}, with nothing else that day")
            return


def _with_fewer_hives(instance: Instance, tasks: tuple[int, ...]) -> Iterator[Remedy]:
    """Yield the most hives of a single job that one crew could do if it did nothing else."""
    if len(tasks) != 1:
        return
    job = instance.jobs[tasks[0]]
    low, high = 0, job.hives
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _fits(instance, tasks[0], middle) else (low, middle)
    if low:
        yield Remedy(kind=RemedyKind.LIGHTER_LOAD, amount=low, text=f"{count(low, 'hive')} of {job.hives} in one visit")


def _fits(instance: Instance, task: int, hives: int) -> bool:
    smaller = instance.jobs[task].model_copy(update={"hives": hives})
    problem = build_instance(
        instance.farm.model_copy(update={"jobs": (smaller,)}), instance.legs, instance.dates
    ).problem
    return bool(served(construct(OrderCosts(problem), frozenset({0}))))
