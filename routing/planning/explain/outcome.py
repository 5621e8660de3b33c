"""What became of everything that a round leaves out: reasons, cheapest insertions and remedies together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial

from routing.planning.explain.forced_insertion import cheapest_forced, gaps_of
from routing.planning.explain.left_out import certain_entry, crowded_entry, left_out_groups, not_due_entries
from routing.planning.explain.reasons import Certain
from routing.planning.explain.remedies import certain_remedies, remedies
from routing.planning.model.instance import Instance
from routing.planning.model.problem import Orders, rank_score
from routing.planning.model.subproblem import is_large
from routing.planning.running.parts import Parts
from routing.planning.running.time_limit import TimeOverError, heed, within
from routing.round import LeftOut, Remedy

MOST_REMEDIED = 12
"""Remedies are sought by planning again for this many left-out visits."""

MANY_TASKS, FEW_REMEDIED = 80, 3
"""Where more jobs are due than these, only so many: most of them no change of the day would save."""


def left_out_entries(
    instance: Instance,
    orders: Orders,
    certain: Mapping[int, Certain],
    remedied: int | None = None,
    deadline: float | None = None,
    parts: Parts | None = None,
) -> list[LeftOut]:
    """Return an entry for everything that the orders leave out, the greatest rank first, what is not due last.

    Remedies are sought by planning again for the first `remedied` entries, by default fewer where very many jobs are
    due, and those not found by `deadline` (of `time.monotonic`) are not told. Where `parts` are given, and no deadline,
    others seek some of them.
    Nothing that still fits is expected to be left out: every engine fills its orders.
    """
    if remedied is None:
        remedied = MOST_REMEDIED if len(instance.problem.tasks) <= MANY_TASKS else FEW_REMEDIED

    def importance(entry: tuple[LeftOut, tuple[int, ...], object]) -> tuple[int, ...]:
        return tuple(-score for score in rank_score(instance.problem, frozenset(entry[1])))

    asked = instance
    apart = parts is not None and parts.beside and deadline is None and not is_large(instance.problem)
    if apart:
        asked = replace(instance, problem=replace(instance.problem))  # without what is remembered of it
    ready: list[tuple[LeftOut, tuple[int, ...], Callable[[], tuple[Remedy, ...]]]] = []
    gaps = gaps_of(instance.problem, orders)
    for tasks, reason in left_out_groups(instance, orders, certain):
        if reason is not None:
            entry = certain_entry(instance, tasks, reason)
            ready.append((entry, tasks, partial(certain_remedies, asked, orders, tasks, reason)))
        else:
            forced = cheapest_forced(instance, orders, tasks, gaps)
            ready.append(
                (crowded_entry(instance, tasks, forced), tasks, partial(remedies, asked, orders, tasks, forced))
            )
    ready.sort(key=importance)
    if apart and parts is not None:
        found = parts.done(_sought, [seek for _, _, seek in ready[:remedied]])
        told = [entry.model_copy(update={"remedies": each}) for (entry, _, _), each in zip(ready, found, strict=False)]
        return [*told, *(entry for entry, _, _ in ready[remedied:]), *not_due_entries(instance)]
    entries = [entry for entry, _, _ in ready]
    with suppress(TimeOverError), within(deadline):
        for number, (entry, _, seek) in enumerate(ready[:remedied]):
            heed()
            entries[number] = entry.model_copy(update={"remedies": seek()})
    return [*entries, *not_due_entries(instance)]


def _sought(seek: Callable[[], tuple[Remedy, ...]]) -> tuple[Remedy, ...]:
    return seek()
