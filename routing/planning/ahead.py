"""What follows from the best orders, worked out by others while this process seeks bounds.

Bounds may still come upon better orders: then what was begun is called off, and done again from these. So the answer is
the same as where one follows the other.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace

from routing.farm.models import Rank
from routing.planning.chance.surest_order import surer
from routing.planning.explain.infeasible_subset import clash_words
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import Certain
from routing.planning.model.instance import Instance
from routing.planning.model.problem import Orders, served
from routing.planning.model.subproblem import is_large
from routing.planning.running.parts import Later, Parts
from routing.planning.running.time_limit import TimeOverError, within
from routing.round import LeftOut


@dataclass(frozen=True, eq=False)
class Explained:
    """What is left out by orders, and a clash of musts in words."""

    orders: Orders
    entries: list[LeftOut]
    clash: str


@dataclass(frozen=True, eq=False)
class Question:
    """Orders of an instance, to be explained."""

    instance: Instance
    candidates: frozenset[int]
    certain: Mapping[int, Certain]
    orders: Orders
    surest: bool
    """Whether they are made surer before."""


def explained(asked: Question, parts: Parts | None = None, end: float | None = None) -> Explained:
    """Return what follows from orders; remedies and a clash not found by `end` (of `time.monotonic`) are not told."""
    instance, orders, candidates = asked.instance, asked.orders, asked.candidates
    if asked.surest:
        orders, _ = surer(instance, orders, candidates, proven=False)
    entries = left_out_entries(instance, orders, asked.certain, deadline=end, parts=parts)
    musts = frozenset(task for task in candidates if instance.jobs[task].rank in {Rank.NOW, Rank.MUST})
    clash = ""
    if not musts <= served(orders):
        with suppress(TimeOverError), within(end):
            clash = clash_words(instance, musts)
    return Explained(orders, entries, clash)


class Ahead:
    """What is begun before the orders are known for good."""

    def __init__(self, question: Question, parts: Parts, *, end: float | None, wanted: bool) -> None:
        """`question` has any orders; nothing is begun ahead by the clock, for great farms or where it is not wanted."""
        self._asked, self._parts, self._end = question, parts, end
        problem = question.instance.problem
        self._may = wanted and end is None and parts.beside and not is_large(problem)
        self._begun: tuple[Orders, Later[Explained]] | None = None

    def begin(self, orders: Orders) -> None:
        """Have others work out what follows from orders that are the best so far."""
        if self._may:
            asked = self._asked
            sent = replace(asked.instance, problem=replace(asked.instance.problem))  # without what is remembered of it
            self._begun = orders, self._parts.begin(explained, replace(asked, instance=sent, orders=orders))

    def heed(self, orders: Orders) -> None:
        """Call off what was begun from other orders than these, which are the best."""
        if self._begun is not None and self._begun[0] != orders:
            self._begun[1].call_off()
            self._begun = None

    def explained(self, orders: Orders) -> Explained:
        """Return what follows from orders, which have been made surer."""
        answer = None if self._begun is None else self._begun[1].answer()
        if answer is not None and answer.orders == orders:
            return answer
        return explained(replace(self._asked, orders=orders, surest=False), self._parts, self._end)
