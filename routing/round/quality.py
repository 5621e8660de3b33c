"""How good a round is: what is proven of it, how even its days are, how likely it is done in time."""

from __future__ import annotations

from routing.farm.models import Frozen


class Proof(Frozen):
    """How good the round is, in words and as a flag."""

    optimal: bool
    """True only where an exact search proved every rank and the time away."""
    text: str
    stopped: bool = False
    """Whether the search was stopped by hand before its end."""
    rank_bounds: tuple[int, ...] = ()
    """By rank, the most weight that any round serves, up to the first rank in which it is more than this round's.

    Empty where nothing is known. A job weighs 7 and 1 a day overdue, times `weight_scale`.
    """
    weight_scale: int = 1
    """The least number of which every shared-out job's hives are a part, so that weights of parts are whole numbers."""
    away_bound_seconds: int = 0
    """No round of the same jobs, none of them later than here, is away for less; 0 where nothing is known."""


class EvenDays(Frozen):
    """What it took to make the days' hours away even, for the same jobs."""

    longest_before_seconds: int
    """The longest time away of any crew's day in the round of the least time away in all."""
    longest_seconds: int
    """The longest in this round."""
    extra_seconds: int
    """How much longer all crews' days together are away than in that round; below zero where they are shorter."""
    text: str


class ChanceSpread(Frozen):
    """By how much the simulated days stray: standard deviations of the logarithm of real over planned seconds."""

    visit: float
    site: float
    day_work: float
    drive: float
    day_drive: float
    early_seconds: int
    """By so much sooner than they must, windows and home-by end in the round."""


class Chance(Frozen):
    """How likely the planned round is done in time, by the same simulated days as `outyard chance`."""

    days: int
    """So many days were simulated."""
    musts: float | None
    """The share of them on which every stop with work that must be done is done in time; None where there is none."""
    whole: float
    """The share of them on which every visit is done in time and every crew is home in time."""
    text: str
    """One sentence with both, and what they rest on."""
    remedies: tuple[str, ...] = ()
    """What would make the whole day hold on nine days of ten, each simulated again, a sentence each."""
    spread: ChanceSpread | None = None
    """What it rests on; None in a round of an older program."""


class SurestOrder(Frozen):
    """Given where another order of the same crews' stops is taken than the one away for the least time."""

    extra_seconds: int
    """How much longer all crews' days together are away than in the shortest round found."""
    musts_before: float | None
    musts_after: float | None
    """The share of simulated days on which all that must be done is done in time, by that round and by this one."""
    whole_before: float
    whole_after: float
    """The same of everything."""
    text: str
