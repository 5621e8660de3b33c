"""A slow and simple builder of good rounds: it tries departures and breaks one after another.

Written apart from the check and from the planning, with decimals instead of fractions, so that what it builds is a
second opinion.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from routing.daylight.windows import site_windows
from routing.farm.models import Crew, Farm, Job, MaterialUse
from routing.plain_words import duration
from routing.round import Insertion, PlannedJob, Proof, ReasonCode, Round, Shortfall
from routing.travel.legs import Legs

Orders = Mapping[str, Sequence[tuple[str, Sequence[int]]]]
Left = Sequence[tuple[str, Sequence[int], str]]


def up(minutes: Decimal) -> int:
    return int((minutes * 60).quantize(Decimal("0.000001")).to_integral_value(ROUND_CEILING))


def dec(number: float) -> Decimal:
    return Decimal(repr(float(number)))


@dataclass(frozen=True)
class Try:
    leave: int
    starts: tuple[int, ...]
    finishes: tuple[int, ...]
    arrives: tuple[int, ...]
    home: int
    rest_at: int | None = None
    """When the break begins, None where there is none."""


@dataclass(frozen=True)
class Day:
    """What bounds one crew's day, in seconds."""

    first: int
    """Earliest leaving."""
    home_by: int
    drives: Sequence[int]
    work: Sequence[int]
    windows: Sequence[tuple[int, int]]
    rest: int
    limit: Decimal
    """Away for longer than this, a break is due."""

    def unrested(self, times: Try) -> int:
        """Return the longest stretch after the break between rests: waits as long as a break are rests too."""
        if times.rest_at is None:
            return 0
        waits = [(a, s) for a, s in zip(times.arrives, times.starts, strict=True) if s - a >= self.rest]
        rests = [(times.rest_at, times.rest_at + self.rest), *waits]
        marks = sorted(rest for rest in rests if rest[1] > times.rest_at)
        begins = [begin for begin, _ in marks[1:]] + [times.home]
        ends = [max(end for _, end in marks[: number + 1]) for number in range(len(marks))]
        return max(begin - end for begin, end in zip(begins, ends, strict=True))


@dataclass(frozen=True)
class Builder:
    """Builds the round of one date from orders that a person chose."""

    farm: Farm
    legs: Legs
    date: dt.date

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.farm.time_zone)

    def at(self, second: int) -> dt.datetime:
        return dt.datetime.fromtimestamp(second, tz=self.zone)

    def local(self, time: dt.time, days: int = 0) -> int:
        date = self.date + dt.timedelta(days=days)
        return int(dt.datetime.combine(date, time, tzinfo=self.zone).timestamp())

    def job(self, number: int) -> Job:
        return next(job for job in self.farm.jobs if job.id == f"jobs.csv:{number}")

    def drive(self, start: str, end: str) -> dict[str, Any]:
        i, j = self.legs.places.index(start), self.legs.places.index(end)
        return {
            "seconds": int(self.legs.seconds[i, j]),
            "metres": int(self.legs.metres[i, j]),
            "origin": self.legs.origins[i][j],
        }

    def work(self, job: Job, people: int) -> int:
        hands = 1 + dec(self.farm.rules.extra_hands_share.value) * (people - 1)
        return up(dec(self.farm.job_kinds[job.kind].minutes_a_hive.value) * job.hives / hands)

    def planned_job(self, job: Job, people: int) -> PlannedJob:
        kind = self.farm.job_kinds[job.kind]
        overdue = max(0, (self.date - job.due_by).days) if job.due_by else 0
        return PlannedJob(
            id=job.id,
            kind=job.kind,
            name=kind.name,
            hives=job.hives,
            work_seconds=self.work(job, people),
            rank=job.rank,
            days_overdue=overdue,
            note=job.note,
            cautions=kind.cautions,
        )

    def on_site(self, site_id: str, jobs: Sequence[Job], people: int) -> int:
        walk = up(2 * dec(self.farm.site(site_id).walking_minutes))
        set_up = max(up(dec(self.farm.job_kinds[job.kind].minutes_a_visit.value)) for job in jobs)
        return walk + set_up + sum(self.work(job, people) for job in jobs)

    def windows(self, site_id: str, jobs: Sequence[Job]) -> list[tuple[int, int]]:
        needs = {self.farm.job_kinds[job.kind].light for job in jobs}
        found = site_windows(self.farm.site(site_id), self.date, self.zone, needs, self.farm.rules)
        return [(int(window.opens.timestamp()), int(window.closes.timestamp())) for window in found]

    def attempt(self, day: Day, leave: int, gap: int | None) -> Try | None:
        """Return the times that follow from a departure, or None where a window or home-by is missed.

        The break in gap 0 is taken on arrival at the first stop, in any other one on finishing the stop before.
        """
        now, arrives, starts, finishes, rest_at = leave, [], [], [], None
        for index, (drive, seconds, (opens, closes)) in enumerate(zip(day.drives, day.work, day.windows, strict=False)):
            if gap and gap == index:
                rest_at, now = now, now + day.rest
            arrives.append(now + drive)
            ready = now + drive
            if gap == 0 == index:
                rest_at, ready = ready, ready + day.rest
            starts.append(max(ready, opens))
            now = starts[-1] + seconds
            finishes.append(now)
            if now > closes:
                return None
        home = now + day.drives[-1]
        too_late = gap and rest_at is not None and rest_at - leave > day.limit
        if home > day.home_by or too_late:
            return None
        return Try(leave, tuple(starts), tuple(finishes), tuple(arrives), home, rest_at)

    def earliest(self, day: Day, gap: int | None) -> Try | None:
        """Return the day of the earliest home, and of those the latest departure, over every second."""
        best: Try | None = None
        for leave in range(day.first, day.home_by):
            times = self.attempt(day, leave, gap)
            if times is not None and (best is None or times.home <= best.home):
                best = times
            elif best is not None:
                break
        return best

    def best(self, crew: Crew, day: Day, suspect: Sequence[bool]) -> tuple[Try, int | None]:
        """Return the day without a break where that is short enough, else of all gaps that of the least time away.

        Of those alike the latest departure; a gap at a suspect site only where there is no other.
        """
        plain = self.earliest(day, None)
        assert plain is not None, "the day is meant to be possible"
        if not crew.break_minutes or plain.home - plain.leave <= day.limit:
            return plain, None
        found = [(times, gap) for gap in range(len(day.work)) if (times := self.earliest(day, gap)) is not None]
        found = [one for one in found if not suspect[max(0, one[1] - 1)]] or found
        assert found, "a break is meant to be possible"
        middle = (day.first + day.home_by) / 2

        def measure(one: tuple[Try, int]) -> tuple[int, int, bool, float]:
            times, rest_at = one[0], one[0].rest_at or 0
            second = day.unrested(times) > day.limit
            return times.home - times.leave, -times.leave, second, abs(rest_at - middle)

        return min(found, key=measure)

    def itinerary(self, crew_id: str, visits: Sequence[tuple[str, Sequence[int]]]) -> dict[str, Any]:
        """Return one crew's day as a plain dictionary; each visit is a site and the numbers of its jobs."""
        crew = self.farm.crew(crew_id)
        vehicle = self.farm.vehicles[crew.vehicle]
        jobs = [[self.job(number) for number in numbers] for _, numbers in visits]
        places = ["base", *(site_id for site_id, _ in visits), "base"]
        drives = [self.drive(start, end) for start, end in pairwise(places)]
        work = [self.on_site(site_id, some, crew.people) for (site_id, _), some in zip(visits, jobs, strict=True)]
        windows = [self.windows(site_id, some)[0] for (site_id, _), some in zip(visits, jobs, strict=True)]
        day = Day(
            first=self.local(crew.earliest_start) + up(dec(self.farm.base.loading_minutes)),
            home_by=self.local(crew.home_by, 1 if crew.home_by <= crew.earliest_start else 0),
            drives=[drive["seconds"] for drive in drives],
            work=work,
            windows=windows,
            rest=up(dec(crew.break_minutes)),
            limit=dec(crew.break_after_hours) * 3600,
        )
        times, gap = self.best(crew, day, [self.farm.site(site_id).last_of_day for site_id, _ in visits])
        host = None if gap is None else max(0, gap - 1)
        load, on_leaving = self.load(crew, visits, jobs)
        stops = []
        for index, (site_id, _) in enumerate(visits):
            site = self.farm.site(site_id)
            finish = times.finishes[index]
            stops.append(
                {
                    "number": index + 1,
                    "site": site_id,
                    "name": site.name,
                    "latitude": site.place.latitude,
                    "longitude": site.place.longitude,
                    "drive": drives[index],
                    "arrive": self.at(times.arrives[index]),
                    "start": self.at(times.starts[index]),
                    "finish": self.at(finish),
                    "on_site_seconds": work[index],
                    "rest": {"start": self.at(times.rest_at or 0), "seconds": day.rest} if index == host else None,
                    "window_opens": self.at(windows[index][0]),
                    "window_closes": self.at(windows[index][1]),
                    "light_left_seconds": windows[index][1] - finish,
                    "load_kg": on_leaving[index][0],
                    "load_litres": on_leaving[index][1],
                    "jobs": [self.planned_job(job, crew.people).model_dump() for job in jobs[index]],
                    "last_of_day": site.last_of_day,
                    "walking_minutes": site.walking_minutes,
                    "notes": site.notes,
                }
            )
        return {
            "crew": crew.id,
            "crew_name": crew.name,
            "people": crew.people,
            "vehicle": vehicle.id,
            "vehicle_name": vehicle.name,
            "date": self.date,
            "load_from": self.at(times.leave - up(dec(self.farm.base.loading_minutes))),
            "leave": self.at(times.leave),
            "stops": stops,
            "drive_home": drives[-1],
            "home": self.at(times.home),
            "home_by": self.at(self.local(crew.home_by, 1 if crew.home_by <= crew.earliest_start else 0)),
            "away_seconds": times.home - times.leave,
            "drive_seconds": sum(drive["seconds"] for drive in drives),
            "distance_metres": sum(drive["metres"] for drive in drives),
            "load": load,
            "call_ins": self.call_ins(crew, times, visits),
            "cautions": self.second_break(times, day),
        }

    def second_break(self, times: Try, day: Day) -> tuple[str, ...]:
        left = day.unrested(times)
        if left <= day.limit:
            return ()
        hours = f"{float(day.limit / 3600):g} h"
        return (f"After the break it is {duration(left)} without another, longer than {hours}: take a second one.",)

    def call_ins(self, crew: Crew, times: Try, visits: Sequence[tuple[str, Sequence[int]]]) -> list[dict[str, Any]]:
        if crew.people > 1:
            return []
        calls, last = [], times.leave
        every = int(dec(self.farm.rules.call_in_minutes.value) * 60)
        for must in sorted({times.finishes[-1], times.home}):
            gaps = 1
            while gaps * every < must - last:
                gaps += 1
            calls += [last + (must - last) * gap // gaps for gap in range(1, gaps + 1)]
            last = must
        names = [self.farm.base.name, *(self.farm.site(site_id).name for site_id, _ in visits), self.farm.base.name]
        begins = [times.leave, *times.arrives, times.home]
        reached = [max(index for index, begin in enumerate(begins) if begin <= call) for call in calls]
        return [
            {"by": self.at(call), "where": f"after {names[index]}"} for call, index in zip(calls, reached, strict=True)
        ]

    def load(
        self, crew: Crew, visits: Sequence[tuple[str, Sequence[int]]], jobs: Sequence[Sequence[Job]]
    ) -> tuple[dict[str, Any], list[tuple[float, float]]]:
        """Return the load list and the kilograms and litres on leaving each stop."""
        kinds, materials = self.farm.job_kinds, self.farm.materials
        used: dict[str, Decimal] = defaultdict(Decimal)
        back: dict[str, Decimal] = defaultdict(Decimal)
        for job in (job for some in jobs for job in some):
            add(used, kinds[job.kind].takes, job.hives)
            add(back, kinds[job.kind].brings_back, job.hives)
        out = []
        on_board: dict[str, Decimal] = defaultdict(Decimal)
        for id_, amount in used.items():
            sold = materials[id_].sold_by
            packs = None if sold is None else int((amount / dec(sold.value)).to_integral_value(ROUND_CEILING))
            on_board[id_] = amount if sold is None or packs is None else packs * dec(sold.value)
            if id_ in self.farm.stock:
                on_board[id_] = min(on_board[id_], dec(self.farm.stock[id_]))
            words = "" if sold is None else f"{materials[id_].pack} of {sold.value:g} {materials[id_].unit}"
            out.append(self.line(id_, on_board[id_], packs, words))
        points = [("base", *self.weigh(on_board))]
        for (site_id, _), some in zip(visits, jobs, strict=True):
            for job in some:
                add(on_board, kinds[job.kind].takes, -job.hives)
                add(on_board, kinds[job.kind].brings_back, job.hives)
            points.append((site_id, *self.weigh(on_board)))
        heaviest, largest = max(points, key=lambda point: point[1]), max(points, key=lambda point: point[2])
        vehicle = self.farm.vehicles[crew.vehicle]
        listed = {
            "out": out,
            "back": [self.line(id_, amount, None, "") for id_, amount in back.items()],
            "fullest_kg": float(round(heaviest[1], 3)),
            "fullest_kg_at": heaviest[0],
            "payload_kg": vehicle.payload_kg,
            "fullest_litres": float(round(largest[2], 3)),
            "fullest_litres_at": largest[0],
            "space_litres": vehicle.space_litres,
        }
        return listed, [(float(round(kg, 3)), float(round(litres, 3))) for _, kg, litres in points[1:]]

    def line(self, id_: str, carried: Decimal, packs: int | None, words: str) -> dict[str, Any]:
        material = self.farm.materials[id_]
        return {
            "material": id_,
            "name": material.name,
            "amount": float(carried),
            "unit": material.unit,
            "packs": packs,
            "pack": words,
            "kg": float(round(carried * dec(material.kg_each.value), 3)),
            "litres": float(round(carried * dec(material.litres_each.value), 3)),
        }

    def weigh(self, amounts: Mapping[str, Decimal]) -> tuple[Decimal, Decimal]:
        materials = self.farm.materials
        kg = sum((amount * dec(materials[id_].kg_each.value) for id_, amount in amounts.items()), Decimal(0))
        litres = sum((amount * dec(materials[id_].litres_each.value) for id_, amount in amounts.items()), Decimal(0))
        return kg, litres

    def left_out(self, site_id: str, numbers: Sequence[int], reason: str) -> dict[str, Any]:
        site, code = self.farm.site(site_id), ReasonCode(reason)
        insertion = Insertion(
            crew=self.farm.crews[0].id,
            date=self.date,
            after="base",
            extra_seconds=1,
            shortfalls=(Shortfall(what="home by", amount=60, unit="seconds"),),
        )
        return {
            "site": site_id,
            "name": site.name,
            "latitude": site.place.latitude,
            "longitude": site.place.longitude,
            "jobs": [
                self.planned_job(self.job(n), 1).model_copy(update={"work_seconds": 0}).model_dump() for n in numbers
            ],
            "reason": code,
            "text": "Said in words.",
            "insertion": None if code.certain else insertion.model_dump(),
        }


def add(amounts: dict[str, Decimal], uses: Sequence[MaterialUse], hives: int) -> None:
    for use in uses:
        amounts[use.material] += dec(use.a_hive.value) * hives


def naive_round(farm: Farm, legs: Legs, date: dt.date, orders: Orders, left: Left) -> Round:
    """Return the round in which each crew makes its visits in the given order."""
    builder = Builder(farm, legs, date)
    return Round.model_validate(
        {
            "farm": farm.name,
            "base_name": farm.base.name,
            "base_latitude": farm.base.place.latitude,
            "base_longitude": farm.base.place.longitude,
            "time_zone": farm.time_zone,
            "dates": (date,),
            "itineraries": [builder.itinerary(crew, visits) for crew, visits in orders.items()],
            "left_out": [builder.left_out(*entry) for entry in left],
            "proof": Proof(optimal=False, text="Built by hand.").model_dump(),
            "estimates": ("Some drives are estimates.",),
            "units": farm.rules.units,
            "emergency_number": farm.rules.emergency_number,
        }
    )
