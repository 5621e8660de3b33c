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
    """Index of the stop as it is shown; behind those shown, in turn, the work that is near."""
    to: int
    """Index of the stop at which it ends: the same, but for a move."""
    move: NumbersMove | None = None
    trip: int = 0
    """Of the plan, from 0."""
    walk_seconds: int
    last_of_day: bool
    windows: tuple[NumbersWindow, ...]
    jobs: tuple[NumbersJob, ...]


class NumbersNear(Frozen):
    """Work at one site that the round leaves out and that lies near the day: done where there is time."""

    site: str
    jobs: tuple[str, ...]
    """The ids of left-out jobs."""
    latitude: float
    """Where the vehicle stops, else the site's place."""
    longitude: float
    stop: int
    """Index among the stops of the numbers: of one at that site, or of one more. Its last jobs are these."""


class NumbersMaterial(Frozen):
    """One material of the day: what a thousandth of its unit weighs and fills, and how many there were at its start."""

    material: str
    name: str = ""
    unit: str = ""
    grams_each: float
    millilitres_each: float
    loaded: int
    """For the first trip."""
    again: tuple[int, ...] = ()
    """What is put on for each later trip of the plan."""
    brought: int = 0
    """Thousandths that were on board beside, to go home, when the rest of a day was planned."""
    at_base: int | None = 0
    """Thousandths at base while the first trip is under way that no other crew-day of the round takes; None where
    nobody counts them."""
    pack: int = 0
    """Thousandths in one pack; 0 where it is loaded loose."""


class NumbersBase(Frozen):
    """What it is to come back to base to load again."""

    trips: int
    """How often the crew may leave base on a day, the first time counted."""
    loading_seconds: int


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
    base: NumbersBase | None = None
    """None in the rest of a day, where the drives out of base are not known."""
    near: tuple[NumbersNear, ...] = ()
    """Left-out work that is offered where there is time; none where the sites go by nicknames."""
    seconds: tuple[tuple[int, ...], ...]
    """Drives between base, which is first, the stops as shown and what is near, [from, to]; below zero where there is
    no way.

    In the rest of a day the first row leads out of where it begins, also straight home.
    """

    @property
    def planned(self) -> tuple[NumbersStop, ...]:
        """The stops with the jobs of the plan alone."""
        more = [sum(len(near.jobs) for near in self.near if near.stop == at) for at in range(len(self.stops))]
        kept = [_first(stop, len(stop.jobs) - extra) for stop, extra in zip(self.stops, more, strict=True)]
        return tuple(stop for stop in kept if stop.jobs)

    def without_near(self) -> DayNumbers:
        """Return the numbers of the plan's own stops alone."""
        size = len(self.seconds) - len(self.near)
        rows = tuple(row[:size] for row in self.seconds[:size])
        used = {each.material for stop in self.planned for job in stop.jobs for each in (*job.takes, *job.brings_back)}
        materials = tuple(each for each in self.materials if _is_used(each, used))
        return self.model_copy(update={"stops": self.planned, "near": (), "seconds": rows, "materials": materials})


def _is_used(each: NumbersMaterial, used: set[str]) -> bool:
    return bool(each.loaded or each.brought or any(each.again)) or each.material in used


def _first(stop: NumbersStop, count: int) -> NumbersStop:
    """Return the stop with its first jobs alone."""
    jobs = set(range(count))
    spans = [span.model_copy(update={"jobs": tuple(job for job in span.jobs if job in jobs)}) for span in stop.windows]
    kept = tuple(dict.fromkeys(span for span in spans if span.jobs))
    return stop.model_copy(update={"jobs": stop.jobs[:count], "windows": kept})
