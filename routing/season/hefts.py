"""What the log tells of a site's hefts: the mean on a day, and how far its colonies differ.

An entry tells the mean of so many hives as it says, of all where it does not say. Entries of one day that all say how
many are hefts of different colonies: their mean is taken, and where they are of one colony each, their spread tells how
far the site's colonies differ. Else the last entry of a day replaces those before.
"""

from __future__ import annotations

import datetime as dt
import math
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from routing.season.entries import Entry

BELIEF_COUNT = 6
"""What is believed of the spread before any heft weighs as much as so many degrees of freedom. Source: judgement."""
LEAST_SHARE = 0.1
"""However alike a few hefts are, the spread is taken for this share of the belief at least. Source: judgement."""


@dataclass(frozen=True)
class Heft:
    """The stores of a site on a day."""

    date: dt.date
    stores_kg: float
    """The mean of the colonies hefted."""
    colonies: int
    """How many were hefted."""
    number: int
    """Which of the site's entries was the last of it."""
    single_kg: tuple[float, ...] = ()
    """The stores of each colony, where they were written one by one."""


def hefts(here: Sequence[Entry], colonies: int) -> tuple[Heft, ...]:
    """Return the hefts of a site of so many colonies, from its entries, oldest first."""
    told = [
        (number, entry.hives, entry.stores_kg, entry.date)
        for number, entry in enumerate(here)
        if entry.stores_kg is not None
    ]
    found = []
    for date, day in groupby(told, key=lambda one: one[3]):
        entries = list(day)
        last, _, _, _ = entries[-1]
        counted = [(hives, kg) for _, hives, kg, _ in entries if hives]
        if len(counted) < len(entries):
            counted = [(entries[-1][1] or max(1, colonies), entries[-1][2])]
        hefted = sum(hives for hives, _ in counted)
        mean = sum(hives * kg for hives, kg in counted) / hefted
        single = tuple(kg for hives, kg in counted if hives == 1)
        found.append(Heft(date, mean, hefted, last, single))
    return tuple(found)


def colony_spread(found: Sequence[Heft], belief_kg: float, widened_kg: Callable[[dt.date], float]) -> float:
    """Return one standard deviation of a site's colonies before use widens it, from the hefts of single colonies.

    Of each day's variance, what use had widened it by until then is taken off. The variances are pooled by their
    degrees of freedom with that of the belief, which counts as `BELIEF_COUNT`.
    """
    squares, degrees = BELIEF_COUNT * belief_kg**2, BELIEF_COUNT
    for heft in found:
        if len(heft.single_kg) > 1:
            degrees += len(heft.single_kg) - 1
            variance = statistics.variance(heft.single_kg) - widened_kg(heft.date) ** 2
            squares += (len(heft.single_kg) - 1) * variance
    return math.sqrt(max(squares / degrees, (LEAST_SHARE * belief_kg) ** 2))
