"""What became of everything that a round leaves out: reasons, cheapest insertions and remedies together."""

from __future__ import annotations

import time
from collections.abc import Mapping

from routing.planning.build import Days
from routing.planning.left_out import certain_entry, cheapest_squeeze, crowded_entry, left_out_groups, not_due_entries
from routing.planning.problem import Orders, rank_score
from routing.planning.reasons import Certain
from routing.round import LeftOut

MOST_REMEDIED = 12
"""Remedies are sought by planning again for this many left-out visits."""


def left_out_entries(
    days: Days,
    orders: Orders,
    certain: Mapping[int, Certain],
    remedied: int = MOST_REMEDIED,
    deadline: float | None = None,
) -> list[LeftOut]:
    """Return an entry for everything that the orders leave out, the greatest rank first, what is not due last.

    Remedies of visits that fit alone are sought by planning again for the first `remedied` of them, and for none more
    after `deadline` (of `time.monotonic`).
    """
    from routing.planning.remedies import certain_remedies, remedies  # noqa: PLC0415

    def importance(entry: tuple[LeftOut, tuple[int, ...]]) -> tuple[int, ...]:
        return tuple(-score for score in rank_score(days.problem, frozenset(entry[1])))

    entries: list[tuple[LeftOut, tuple[int, ...]]] = []
    squeezes = {}
    for tasks, reason in left_out_groups(days, orders, certain):
        if reason is not None:
            entry = certain_entry(days, tasks, reason)
            entries.append((entry.model_copy(update={"remedies": certain_remedies(days, tasks, reason)}), tasks))
        else:
            squeezes[tasks] = cheapest_squeeze(days, orders, tasks)
            entries.append((crowded_entry(days, squeezes[tasks]), tasks))
    entries.sort(key=importance)
    finished = []
    for number, (entry, tasks) in enumerate(entries):
        late = deadline is not None and time.monotonic() >= deadline
        if tasks in squeezes and number < remedied and not late:
            finished.append(entry.model_copy(update={"remedies": remedies(days, orders, squeezes[tasks])}))
        else:
            finished.append(entry)
    return [*finished, *not_due_entries(days)]
