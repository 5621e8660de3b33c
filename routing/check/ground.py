"""The ground that the check stands on: the farm, the legs and the working light, looked up and never planned."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from zoneinfo import ZoneInfo

from routing.check.exact import exact, instant, local_instant, whole_seconds
from routing.check.weather import without_bad_weather
from routing.daylight.sun import sun_day
from routing.daylight.windows import working_light
from routing.farm.models import Crew, Farm, Job, JobKind, LightNeed, Site, Vehicle
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import Legs

Span = tuple[int, int]
"""Opens and closes, instants."""


@dataclass(frozen=True)
class Needs:
    """What the jobs of a visit ask of light and weather together."""

    lights: frozenset[LightNeed]
    kinds: frozenset[str]
    """The job kinds, whose limits the weather must keep."""


@dataclass(frozen=True)
class Leg:
    """One drive as the legs have it."""

    seconds: int
    metres: int
    origin: LegOrigin


@dataclass(frozen=True, eq=False)
class Drives:
    """The drives of one vehicle, each looked up when it is asked for: those of a great farm would take gigabytes."""

    rows: dict[str, int]
    """Of the places, in the legs."""
    legs: Legs

    @classmethod
    def of(cls, legs: Legs) -> Drives:
        """Return the drives of these legs."""
        return cls({place: row for row, place in enumerate(legs.places)}, legs)

    def between(self, start: str, end: str) -> Leg | None:
        """Return the drive from place to place, None where there is no way."""
        seconds = self.seconds(start, end)
        if seconds is None:
            return None
        here, there = self.rows[start], self.rows[end]
        return Leg(seconds, int(self.legs.metres[here, there]), LegOrigin(self.legs.origins[here][there]))

    def seconds(self, start: str, end: str) -> int | None:
        """Return the seconds of the drive from place to place, None where there is no way."""
        here, there = self.rows.get(start), self.rows.get(end)
        if here is None or there is None or self.legs.metres[here, there] < 0:
            return None
        seconds = int(self.legs.seconds[here, there])
        return None if seconds < 0 else seconds


@dataclass(frozen=True, eq=False)
class Ground:
    """All that a round is held against. Build one with `Ground.of`."""

    farm: Farm
    zone: ZoneInfo
    sites: dict[str, Site]
    jobs: dict[str, Job]
    crews: dict[str, Crew]
    legs: dict[str, Drives]
    """By vehicle."""
    roads: Legs
    """The drives as they were given, for what a road map tells beside seconds and metres."""
    light: dict[tuple[str, dt.date, LightNeed], Span | None] = field(default_factory=dict)
    """Working light already asked for, so that the sun is computed once a site, date and need."""
    windows: dict[tuple[str, dt.date, Needs], tuple[Span, ...]] = field(default_factory=dict)
    """Windows already asked for."""
    on_site: dict[tuple[object, ...], int] = field(default_factory=dict)
    """Seconds of visits already asked for, by their jobs and what of the crew they hang on."""
    works: dict[tuple[str, dt.date], bool] = field(default_factory=dict)
    """Whether a crew can go out, where that was already asked."""
    ways: dict[str, tuple[dict[str, int], dict[str, int]]] = field(default_factory=dict)
    """By vehicle, the seconds of the quickest ways from base and home again that were already asked for."""

    @classmethod
    def of(cls, farm: Farm, legs: Legs) -> Ground:
        """Return the ground for a farm and the drives between its places."""
        return cls(
            farm=farm,
            zone=ZoneInfo(farm.time_zone),
            sites={site.id: site for site in farm.sites},
            jobs={job.id: job for job in farm.jobs},
            crews={crew.id: crew for crew in farm.crews},
            legs={vehicle: Drives.of(legs.of(vehicle)) for vehicle in farm.vehicles},
            roads=legs,
        )

    def leg(self, crew: Crew, start: str, end: str) -> Leg | None:
        """Return the drive from place to place in the crew's vehicle, None where there is no way."""
        return self.legs[crew.vehicle].between(start, end)

    def seconds(self, crew: Crew, start: str, end: str) -> int | None:
        """Return the seconds of the drive from place to place in the crew's vehicle, None where there is no way."""
        return self.legs[crew.vehicle].seconds(start, end)

    def kind(self, job: Job) -> JobKind:
        """Return the job kind of a job."""
        return self.farm.job_kinds[job.kind]

    def vehicle(self, crew: Crew) -> Vehicle:
        """Return the vehicle that a crew drives."""
        return self.farm.vehicles[crew.vehicle]

    def needs(self, jobs: Iterable[Job]) -> Needs:
        """Return the light and weather that these jobs need together."""
        kinds = frozenset(job.kind for job in jobs)
        return Needs(frozenset(self.farm.job_kinds[kind].light for kind in kinds), kinds)

    def hands(self, people: int) -> Fraction:
        """Return how many single workers a crew counts for in the work on hives."""
        return 1 + exact(self.farm.rules.extra_hands_share.value) * (people - 1)

    def work_seconds(self, job: Job, crew: Crew) -> int:
        """Return the seconds that a job's hives take the crew, at the site's pace and its own."""
        alone = exact(self.kind(job).minutes_a_hive.value) * job.hives
        pace = exact(self.sites[job.site].pace) * exact(crew.pace)
        return whole_seconds(alone / self.hands(crew.people) * pace)

    def on_site_seconds(self, jobs: Iterable[Job], crew: Crew) -> int:
        """Return the seconds of a visit for these jobs of one site: walk, one set-up, and the work."""
        wanted = tuple(jobs)
        key = (crew.people, crew.pace, *((job.site, job.kind, job.hives) for job in wanted))
        if key not in self.on_site:
            self.on_site[key] = self._on_site_seconds(wanted, crew)
        return self.on_site[key]

    def _on_site_seconds(self, wanted: Sequence[Job], crew: Crew) -> int:
        walk = whole_seconds(2 * exact(self.sites[wanted[0].site].walking_minutes))
        set_up = whole_seconds(max(exact(self.kind(job).minutes_a_visit.value) for job in wanted))
        return walk + set_up + sum(self.work_seconds(job, crew) for job in wanted)

    def set_down_work(self, job: Job, crew: Crew) -> int:
        """Return the seconds that setting down a job's hives takes the crew at the site that they are moved to."""
        minutes = self.kind(job).set_down_minutes_a_hive
        alone = exact(0.0 if minutes is None else minutes.value) * job.hives
        pace = exact(self.sites[job.to].pace) * exact(crew.pace)
        return whole_seconds(alone / self.hands(crew.people) * pace)

    def set_down_seconds(self, job: Job, crew: Crew) -> int:
        """Return the seconds at the site that hives are moved to: walk, set-up and setting down."""
        walk = whole_seconds(2 * exact(self.sites[job.to].walking_minutes))
        return walk + whole_seconds(exact(self.kind(job).minutes_a_visit.value)) + self.set_down_work(job, crew)

    def ends(self, job: Job) -> tuple[Site, ...]:
        """Return the sites that a job is done at: two where hives are moved from the one to the other."""
        return tuple(self.sites[end] for end in (job.site, job.to) if end)

    def works_on(self, crew: Crew, date: dt.date) -> bool:
        """Whether the crew can go out: no day off, and its vehicle not taken by a crew listed before it."""

        def works(one: Crew) -> bool:
            return date.weekday() not in one.days_off_weekdays and date not in one.days_off_dates

        key = crew.id, date
        if key not in self.works:
            before = self.farm.crews[: self.farm.crews.index(crew)]
            free = not any(works(one) and one.vehicle == crew.vehicle for one in before)
            self.works[key] = works(crew) and free
        return self.works[key]

    def is_open(self, site: Site, date: dt.date) -> bool:
        """Whether the site may be entered at all on the date."""
        return date.weekday() not in site.closed_weekdays and date not in site.closed_dates

    def loading_seconds(self) -> int:
        """Return how long loading at base takes."""
        return whole_seconds(exact(self.farm.base.loading_minutes))

    def break_seconds(self, crew: Crew) -> int:
        """Return how long the crew's break is."""
        return whole_seconds(exact(crew.break_minutes))

    def earliest_start(self, crew: Crew, date: dt.date) -> int:
        """Return when loading may begin."""
        return local_instant(date, crew.earliest_start, self.zone)

    def home_by(self, crew: Crew, date: dt.date) -> int:
        """Return when the crew must be back: the next day where its clock time is not after the start's."""
        days = 1 if crew.home_by <= crew.earliest_start else 0
        asked = local_instant(date + dt.timedelta(days=days), crew.home_by, self.zone)
        dusk = sun_day(self.farm.base.place, date, self.zone).civil_dusk if crew.home_before_dark else None
        return (asked if dusk is None else min(asked, math.floor(dusk.timestamp()))) - self.early_seconds()

    def early_seconds(self) -> int:
        """Return how much sooner than they must windows close and crews are home."""
        return whole_seconds(exact(self.farm.rules.finish_early_minutes))

    def spans(self, site: Site, date: dt.date, needs: Needs) -> tuple[Span, ...]:
        """Return the windows of a visit with these needs, in order; none where the site is closed."""
        key = (site.id, date, needs)
        if key not in self.windows:
            self.windows[key] = self._spans(site, date, needs)
        return self.windows[key]

    def visit_spans(self, jobs: Sequence[Job], date: dt.date) -> tuple[Span, ...]:
        """Return the windows of a visit for these jobs; a move lies whole in a window of both of its sites."""
        found = self.spans(self.sites[jobs[0].site], date, self.needs(jobs))
        for job in jobs:
            if job.to:
                there = self.spans(self.sites[job.to], date, self.needs(jobs))
                both = ((max(a, c), min(b, d)) for a, b in found for c, d in there)
                found = tuple(sorted(span for span in both if span[0] < span[1]))
        return found

    def _spans(self, site: Site, date: dt.date, needs: Needs) -> tuple[Span, ...]:
        if not self.is_open(site, date):
            return ()
        lights = [self._light(site, date, need) for need in sorted(needs.lights)]
        whole = [light for light in lights if light is not None]
        if not whole or len(whole) < len(lights):
            return ()
        opens, closes = max(light[0] for light in whole), min(light[1] for light in whole)
        cuts = [(max(opens, start), min(closes, end)) for start, end in self._hours(site, date)] or [(opens, closes)]
        if self.farm.forecast is not None:
            cuts = without_bad_weather(cuts, self.farm.forecast, [self.farm.job_kinds[kind] for kind in needs.kinds])
        early = self.early_seconds()
        return tuple(sorted((start, end - early) for start, end in cuts if start < end - early))

    def _hours(self, site: Site, date: dt.date) -> list[Span]:
        return [
            (local_instant(date, hours.opens, self.zone), local_instant(date, hours.closes, self.zone))
            for hours in site.hours
        ]

    def _light(self, site: Site, date: dt.date, need: LightNeed) -> Span | None:
        key = (site.id, date, need)
        if key not in self.light:
            window = working_light(site.place, date, self.zone, need, self.farm.rules)
            self.light[key] = None if window is None else (instant(window.opens), instant(window.closes))
        return self.light[key]
