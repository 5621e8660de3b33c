"""What a day can be reckoned anew from in the field."""

from __future__ import annotations

from pydantic import AwareDatetime

from routing.farm.models import Frozen, Rank


class MaterialAmount(Frozen):
    """So much of a material, in thousandths of its unit."""

    material: str
    thousandths: float


class NumbersJob(Frozen):
    """What one job takes, so that what is left of it can be reckoned anew."""

    hives: int
    rank: Rank
    weight: int
    """What the whole job counts inside its rank; of what is left of it, its share of the hives counts."""
    of_hives: int
    """Of the whole job; more than `hives` where it is a part of one."""
    set_up_seconds: int
    hive_seconds: float
    """Of this crew for one hive; the work of some is rounded up to whole seconds after it is multiplied."""
    takes: tuple[MaterialAmount, ...] = ()
    """For one hive."""
    brings_back: tuple[MaterialAmount, ...] = ()


class NumbersWindow(Frozen):
    """A time in which work may be done, in seconds from the midnight of the day, and which of the stop's jobs."""

    opens: int
    closes: int
    jobs: tuple[int, ...]


class NumbersMove(Frozen):
    """The end of a move of hives: the drive with them, and setting them down."""

    drive_seconds: int
    walk_seconds: int
    set_up_seconds: int
    hive_seconds: float
    grams: float
    """Of one hive and what goes with it, on board until it is set down."""
    millilitres: float
    windows: tuple[NumbersWindow, ...]
    """Of the site where they are set down alone: for hives that are on board already."""


class NumbersStop(Frozen):
    """One stop of the day, in its order and with its jobs in theirs; a move of hives is one from end to end."""

    at: int
    """Index of the stop as it is shown."""
    to: int
    """Index of the stop at which it ends: the same, but for a move."""
    move: NumbersMove | None = None
    walk_seconds: int
    last_of_day: bool
    windows: tuple[NumbersWindow, ...]
    jobs: tuple[NumbersJob, ...]


class NumbersMaterial(Frozen):
    """One material of the day: what a thousandth of its unit weighs and fills, and how many there were at its start."""

    material: str
    grams_each: float
    millilitres_each: float
    loaded: int
    brought: int = 0
    """Thousandths that were on board beside, to go home, when the rest of a day was planned."""


class DayNumbers(Frozen):
    """What the day can be reckoned anew from in the field: whole seconds, grams and millilitres, and no place."""

    midnight: AwareDatetime
    """Seconds count from here."""
    home_by: int
    break_seconds: int
    break_after_seconds: int
    payload_grams: int
    space_millilitres: int
    materials: tuple[NumbersMaterial, ...]
    stops: tuple[NumbersStop, ...]
    seconds: tuple[tuple[int, ...], ...]
    """Drives between base, which is first, and the stops as shown, [from, to]; below zero where there is no way.

    In the rest of a day the first row leads out of where it begins, also straight home.
    """
