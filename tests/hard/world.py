"""A small farm as numbers of its own: crew-days, jobs and windows by rules 1, 2, 3, 5 and 14 of the arithmetic.

Instants are whole seconds of universal time; loads are exact fractions. Nothing here comes from the planning or the
check: only the farm's models, the legs' numbers and the light are taken over.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, product
from zoneinfo import ZoneInfo

from routing.daylight.sun import sun_day
from routing.daylight.windows import site_closed, site_windows
from routing.farm.models import Crew, Farm, Figure, Job, JobKind, Rank, Site
from routing.travel.farm import farm_and_legs

PART = re.compile(r"(.*) part (\d+) of (\d+)")
Amounts = tuple[Fraction, ...]
"""One for each material of the farm, in its own unit."""

Span = tuple[int, int]


@dataclass(frozen=True)
class Relax:
    """By how many seconds light ends later, crews may start earlier and be home later, gates shut later."""

    light: int = 0
    start: int = 0
    home: int = 0
    gates: int = 0
    crew: str = ""
    """Whose start and home are meant; every crew's where empty."""


@dataclass(frozen=True)
class Work:
    """One job."""

    number: int
    job: Job
    kind: JobKind
    rank: int
    weight: Fraction
    """What it counts inside its rank; of a part its share."""
    uses: Amounts
    back: Amounts
    carried: Amounts
    """On board between the two ends of a move."""

    @property
    def bit(self) -> int:
        return 1 << self.number


@dataclass(frozen=True)
class Call:
    """A stop that a crew could make: jobs of one site in one window, or a move; places are rows of the legs."""

    jobs: int
    """A mask."""
    site: str
    enter: int
    leave: int
    opens: int
    closes: int
    seconds: int
    """On site; of a move the whole, its drive counted."""
    metres: int
    """Of the drive of a move."""
    marked: bool
    """A site that comes last of the day."""
    move: bool


@dataclass(frozen=True)
class CrewDay:
    """One crew on one date."""

    crew: Crew
    date: dt.date
    earliest_leave: int
    home_by: int
    rest: int
    rest_after: int
    trips: int
    loading: int
    seconds: tuple[tuple[int, ...], ...]
    metres: tuple[tuple[int, ...], ...]
    payload: Fraction
    space: Fraction


def up(minutes: Fraction) -> int:
    """Return minutes as whole seconds: rounded to a millionth of a second and then up."""
    return math.ceil(round(minutes * 60, 6))


def exact(value: float) -> Fraction:
    """Return the number as it is written."""
    return Fraction(str(value))


def number(figure: Figure) -> Fraction:
    """Return the number of a figure as it is written."""
    return exact(figure.value)


def parts_of(job: Job, listed: Iterable[str]) -> tuple[Job, ...]:
    """Return the job, or its parts where a round lists parts of it: even shares of the hives, the first ones larger."""
    found = [match for name in listed if (match := PART.fullmatch(name)) and match[1] == job.id]
    if not found:
        return (job,)
    count = int(found[0][3])
    share, over = divmod(job.hives, count)
    return tuple(
        job.model_copy(
            update={
                "id": f"{job.id} part {part + 1} of {count}",
                "hives": share + (part < over),
                "of_hives": job.hives,
            }
        )
        for part in range(count)
    )


class World:
    """Everything the oracle knows of a farm on some dates."""

    def __init__(
        self, farm: Farm, dates: Sequence[dt.date], listed: Iterable[str] = (), relax: Relax | None = None
    ) -> None:
        self.farm, legs = farm_and_legs(farm)
        self.dates, self.relax = tuple(dates), relax or Relax()
        self.zone = ZoneInfo(farm.time_zone)
        self.rows = {place: row for row, place in enumerate(legs.places)}
        self.legs = legs
        self.materials = tuple(sorted(farm.materials))
        names = tuple(listed)
        jobs = [part for job in farm.jobs for part in parts_of(job, names)]
        self.not_due = tuple(job for job in jobs if job.not_before is not None and job.not_before > dates[-1])
        due = [job for job in jobs if job not in self.not_due]
        self.works = tuple(self._work(index, job) for index, job in enumerate(due))
        self.stock = tuple(
            exact(farm.stock[material]) if material in farm.stock else None for material in self.materials
        )
        facts = [farm.materials[material] for material in self.materials]
        self.packs = tuple(number(one.sold_by) if one.sold_by is not None else None for one in facts)
        self.kilograms = tuple(number(one.kg_each) for one in facts)
        self.litres = tuple(number(one.litres_each) for one in facts)
        self.days = tuple(self._day(crew, date) for date in dates for crew in self._out(date))
        self._windows: dict[tuple[str, dt.date, frozenset[str]], tuple[Span, ...]] = {}

    @property
    def everything(self) -> int:
        """The mask of all jobs that are due."""
        return (1 << len(self.works)) - 1

    def of(self, mask: int) -> Iterator[Work]:
        """Yield the jobs of a mask."""
        return (work for work in self.works if mask & work.bit)

    def mask(self, ids: Iterable[str]) -> int:
        """Return the mask of jobs by their ids. Raises KeyError."""
        bits = {work.job.id: work.bit for work in self.works}
        found = 0
        for name in ids:
            found |= bits[name]
        return found

    def score(self, mask: int) -> tuple[Fraction, ...]:
        """Return the weight of each rank."""
        found = [Fraction(0)] * len(Rank)
        for work in self.of(mask):
            found[work.rank] += work.weight
        return tuple(found)

    def in_store(self, mask: int) -> bool:
        """Return whether the stock serves these jobs together."""
        used = self.total(mask)
        return all(have is None or need <= have for need, have in zip(used, self.stock, strict=True))

    def total(self, mask: int) -> Amounts:
        """Return what these jobs use."""
        return tuple(sum(amounts, Fraction(0)) for amounts in zip(*(w.uses for w in self.of(mask)), strict=True)) or (
            Fraction(0),
        ) * len(self.materials)

    def loaded(self, used: Sequence[Fraction]) -> Amounts:
        """Return what is loaded for so much use: whole packs, never more than the stock."""
        found = []
        for need, pack, have in zip(used, self.packs, self.stock, strict=True):
            whole = need if pack is None else math.ceil(need / pack) * pack
            found.append(whole if have is None else min(whole, max(have, need)))
        return tuple(found)

    def may(self, work: Work, day: CrewDay) -> bool:
        """Return whether a crew may do a job on its date: people, vehicle and dates."""
        job, vehicle = work.job, self.farm.vehicles[day.crew.vehicle]
        ends = [self.farm.site(end) for end in (job.site, job.to) if end]
        return (
            work.kind.people <= day.crew.people
            and all(not site.vehicle_needed or site.vehicle_needed in vehicle.reaches for site in ends)
            and (job.not_before is None or job.not_before <= day.date)
            and job.promised in {None, day.date}
        )

    def overdue(self, work: Work, date: dt.date) -> int:
        """Return by how many days a date is past the job's due date."""
        return max(0, (date - work.job.due_by).days) if work.job.due_by else 0

    def punctual(self, work: Work, date: dt.date) -> bool:
        """Return whether the date is no later than the due date or the first possible one."""
        job = work.job
        if job.due_by is None:
            return True
        may = [one for one in self.dates if (job.not_before is None or job.not_before <= one)]
        first = next((one for one in may if job.promised in {None, one}), self.dates[0])
        return date <= max(job.due_by, first)

    def work_seconds(self, work: Work, crew: Crew) -> int:
        """Return what the job's hives take at its own site."""
        return self._hive_seconds(crew, self.farm.site(work.job.site), number(work.kind.minutes_a_hive), work.job.hives)

    def move_seconds(self, work: Work, day: CrewDay) -> tuple[int, int, int]:
        """Return the seconds at the old site, of the drive with the hives, and at the new site."""
        job, old, new = work.job, self.farm.site(work.job.site), self.farm.site(work.job.to)
        set_up = up(number(work.kind.minutes_a_visit))
        down = work.kind.set_down_minutes_a_hive
        assert down is not None
        here = up(2 * exact(old.walking_minutes)) + set_up + self.work_seconds(work, day.crew)
        there = up(2 * exact(new.walking_minutes)) + set_up + self._hive_seconds(day.crew, new, number(down), job.hives)
        return here, day.seconds[self.rows[old.id]][self.rows[new.id]], there

    def seconds_at(self, works: Sequence[Work], crew: Crew) -> int:
        """Return the on-site seconds of jobs of one site in one stop."""
        walk = up(2 * exact(self.farm.site(works[0].job.site).walking_minutes))
        set_up = max(up(number(work.kind.minutes_a_visit)) for work in works)
        return walk + set_up + sum(self.work_seconds(work, crew) for work in works)

    def windows(self, site: Site, date: dt.date, works: Iterable[Work]) -> tuple[Span, ...]:
        """Return the windows of a site for the light needs of all these jobs, in order."""
        needs = frozenset(work.kind.light for work in works)
        key = (site.id, date, frozenset(need.value for need in needs))
        if key not in self._windows:
            self._windows[key] = tuple(self._spans(site, date, needs))
        return self._windows[key]

    def _spans(self, site: Site, date: dt.date, needs: frozenset[object]) -> Iterator[Span]:
        early = up(exact(self.farm.rules.finish_early_minutes))
        if site_closed(site, date):
            return
        bare = site.model_copy(update={"hours": ()})
        for light in site_windows(bare, date, self.zone, needs, self.farm.rules):  # type: ignore[arg-type]
            opens, closes = self.at(light.opens), self.at(light.closes) + self.relax.light
            for begins, ends in [
                (self._clock(date, span.opens), self._clock(date, span.closes) + self.relax.gates)
                for span in site.hours
            ] or [(opens, closes)]:
                first, last = max(opens, begins), min(closes, ends) - early
                if first < last:
                    yield first, last

    def calls(self, day: CrewDay) -> tuple[Call, ...]:
        """Return every stop that a crew-day could make, of every set of jobs of a site, in each of its windows."""
        found: list[Call] = []
        for site in self.farm.sites:
            able = [w for w in self.works if w.job.site == site.id and not w.job.to and self.may(w, day)]
            for size in range(1, len(able) + 1):
                for some in combinations(able, size):
                    found += self.calls_of(some, day)
        for work in self.works:
            if work.job.to and self.may(work, day):
                found += self.calls_of((work,), day)
        return tuple(found)

    def calls_of(self, works: Sequence[Work], day: CrewDay) -> list[Call]:
        """Return the stops that do just these jobs together, one for each window; a move stands alone."""
        first = works[0].job
        site, row = self.farm.site(first.site), self.rows[first.site]
        mask = sum(work.bit for work in works)
        if not first.to:
            length = self.seconds_at(works, day.crew)
            return [
                Call(mask, site.id, row, row, opens, closes, length, 0, site.last_of_day, move=False)
                for opens, closes in self.windows(site, day.date, works)
            ]
        new, end = self.farm.site(first.to), self.rows[first.to]
        length = sum(self.move_seconds(works[0], day))
        both = product(self.windows(site, day.date, works), self.windows(new, day.date, works))
        spans = sorted({(max(a[0], b[0]), min(a[1], b[1])) for a, b in both})
        metres = day.metres[row][end]
        return [
            Call(mask, site.id, row, end, opens, closes, length, metres, marked=False, move=True)
            for opens, closes in spans
            if opens < closes
        ]

    def at(self, moment: dt.datetime) -> int:
        """Return the instant as whole seconds of universal time."""
        return round(moment.timestamp())

    def _clock(self, date: dt.date, time: dt.time) -> int:
        return self.at(dt.datetime.combine(date, time, tzinfo=self.zone).astimezone(dt.UTC))

    def _work(self, index: int, job: Job) -> Work:
        kind = self.farm.job_kinds[job.kind]

        def amounts(uses: Iterable[tuple[str, Fraction]]) -> Amounts:
            found = dict(uses)
            return tuple(found.get(material, Fraction(0)) * job.hives for material in self.materials)

        takes = amounts((use.material, number(use.a_hive)) for use in kind.takes)
        brings = amounts((use.material, number(use.a_hive)) for use in kind.brings_back)
        none = (Fraction(0),) * len(self.materials)
        overdue = max(0, (self.dates[0] - job.due_by).days) if job.due_by else 0
        return Work(
            number=index,
            job=job,
            kind=kind,
            rank=list(Rank).index(job.rank),
            weight=(7 + min(365, overdue)) * Fraction(job.hives, job.of_hives or job.hives),
            uses=takes,
            back=none if job.to else brings,
            carried=brings if job.to else none,
        )

    def _hive_seconds(self, crew: Crew, site: Site, minutes: Fraction, hives: int) -> int:
        hands = 1 + number(self.farm.rules.extra_hands_share) * (crew.people - 1)
        return up(minutes * hives / hands * exact(site.pace) * exact(crew.pace))

    def _out(self, date: dt.date) -> Iterator[Crew]:
        taken = set()
        for crew in self.farm.crews:
            if date.weekday() in crew.days_off_weekdays or date in crew.days_off_dates or crew.vehicle in taken:
                continue
            taken.add(crew.vehicle)
            yield crew

    def _day(self, crew: Crew, date: dt.date) -> CrewDay:
        start = self._clock(date, crew.earliest_start)
        next_day = crew.home_by <= crew.earliest_start
        home_by = self._clock(date + dt.timedelta(days=next_day), crew.home_by)
        if crew.home_before_dark:
            dusk = sun_day(self.farm.base.place, date, self.zone).civil_dusk
            if dusk is not None:
                home_by = min(home_by, math.floor(dusk.timestamp()))
        loading = up(exact(self.farm.base.loading_minutes))
        eased = self.relax.crew in {"", crew.id}
        vehicle, legs = self.farm.vehicles[crew.vehicle], self.legs.of(crew.vehicle)
        return CrewDay(
            crew=crew,
            date=date,
            earliest_leave=start + loading - (self.relax.start if eased else 0),
            home_by=home_by - up(exact(self.farm.rules.finish_early_minutes)) + (self.relax.home if eased else 0),
            rest=up(exact(crew.break_minutes)),
            rest_after=int(exact(crew.break_after_hours) * 3600),
            trips=crew.trips_a_day,
            loading=loading,
            seconds=tuple(tuple(int(value) for value in row) for row in legs.seconds),
            metres=tuple(tuple(int(value) for value in row) for row in legs.metres),
            payload=exact(vehicle.payload_kg),
            space=exact(vehicle.space_litres),
        )
