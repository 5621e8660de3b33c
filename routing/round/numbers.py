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
    """What it counts inside its rank: thousands, of a part of a job its share of the hives."""
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


class NumbersStop(Frozen):
    """One stop of the day, in its order and with its jobs in theirs."""

    walk_seconds: int
    last_of_day: bool
    windows: tuple[NumbersWindow, ...]
    jobs: tuple[NumbersJob, ...]


class NumbersMaterial(Frozen):
    """One material of the day: what a thousandth of its unit weighs and fills, and how many were loaded at base."""

    material: str
    grams_each: float
    millilitres_each: float
    loaded: int


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
    """Drives between base, which is first, and the stops, [from, to]; below zero where there is no way."""
