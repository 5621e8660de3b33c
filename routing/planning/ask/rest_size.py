"""How much of the rest of a day is looked at in full: by the same measure as on the crew's page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from routing.planning.model.problem import Problem

MOST_AT_A_STOP = 10
"""Jobs of a stop whose sets are gone through."""

MOST_STATES, MOST_STEPS = 6_000_000, 12_000_000
MOST_PART_STEPS = 48_000_000
"""Of all tables for some of a job's hives together."""

MOST_IN_BEAM = 30
"""Tasks that a beam holds."""

BEAM_STEPS = 16_000_000
"""What a beam counts as where some of a job's hives are looked at, so that few are tried."""


@dataclass(frozen=True)
class Sizes:
    """What is looked at of a day."""

    whole: bool
    """All of it."""
    beam: bool
    """What a beam finds, where it is not all."""
    steps: float


def sizes_of(problem: Problem, numbers: Sequence[int], trips: int) -> Sizes:
    """Return what is looked at of a day of these tasks on so many trips."""
    at = Counter(problem.visits[problem.visits_of[task][0]].place for task in numbers)
    suspects = any(problem.visits[problem.visits_of[task][0]].last_of_day for task in numbers)
    breaks = (3 if suspects else 2) if problem.routes[0].break_seconds else 1
    each, count = trips + 1, len(numbers)
    if count > MOST_IN_BEAM:
        return Sizes(whole=False, beam=False, steps=0)
    lasts = sum(1 - each**-jobs for jobs in at.values())
    nexts = sum(trips * ((1 + 1 / each) ** jobs - 1) for jobs in at.values())
    states, steps = each**count * len(at) * breaks, each**count * lasts * nexts * breaks
    whole = max(at.values(), default=0) <= MOST_AT_A_STOP and states <= MOST_STATES and steps <= MOST_STEPS
    return Sizes(whole=whole, beam=True, steps=steps if whole else BEAM_STEPS)
