"""One crew's day as a helper reads it: `CrewSheet`, and for each stop its ids, links, cautions and secrets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from markupsafe import Markup

from routing.round import Itinerary, PlannedJob, Round, Stop
from routing.share.pages.file_names import slug
from routing.share.pages.qr import place_code
from routing.share.safety.geo import driven_to, ways
from routing.share.safety.plan_key import round_key
from routing.share.safety.positions import geo_uri
from routing.share.safety.private import Private, SitePrivate
from routing.share.safety.safe import plain_name, plain_text
from routing.share.safety.trusted import trusted
from routing.share.wording import words
from routing.share.wording.answer import crew_answer_lines
from routing.share.wording.care import care_list, told_cautions
from routing.share.wording.emergency import EmergencyCard, dialable, emergency_card
from routing.share.wording.field_given import field_given
from routing.share.wording.near import NearJob, NearSheet, near_sheets
from routing.share.wording.sheet import Sheet
from routing.share.wording.sheet_crew import (
    CrewSheet,
    LoadLine,
    StopSheet,
    cautions_of,
    job_matters,
    job_title,
    job_words,
    set_down_words,
)
from routing.share.wording.stands import spots_of

__all__ = ["HelperJob", "HelperSheet", "HelperStop", "helper_sheet", "page_names", "round_key", "slug"]

LONGEST_REMINDER = 40
"""Characters of a caution that remind of it at a stop."""

HEFT = "heft"
"""The job kind whose kilograms the page asks for."""


@dataclass(frozen=True)
class HelperJob:
    """One job of a stop; `number` counts all jobs of the day from 0 and is what a tick is kept under."""

    number: int
    id: str
    name: str
    duration: str
    title: str = ""
    """Its name without the rank, which stands apart in `matters`; that is empty where hives of a move are set down."""
    matters: str = ""
    kind: str = ""
    """The id of its job kind; empty where hives of a move are set down."""
    hives: int = 1
    feed: str = ""
    """The id of the material that it gives, where its kind is called as that; empty where the page asks no amount."""
    feed_name: str = ""
    unit: str = ""

    @property
    def weighs(self) -> bool:
        """Whether its kilograms are asked for: without them a heft tells nothing."""
        return self.kind == HEFT


@dataclass(frozen=True)
class HelperStop:
    """One stop with what a helper needs there."""

    shown: StopSheet
    site: str
    way: str
    jobs: tuple[HelperJob, ...]
    """What is ticked off as done; a move where its hives are set down."""
    loads: tuple[HelperJob, ...]
    """Hives to be loaded here for the next stop; ticked for oneself, and not told in the report."""
    at_base: tuple[tuple[str, str], ...]
    """Back at base: what is taken off and loaded, each with what its tick is kept under; not told in the report."""
    cautions: tuple[str, ...]
    """Those of its jobs that hold at no other stop, in full; the list for the day does not say them again."""
    reminders: tuple[str, ...]
    """The first words of its other cautions, whose full text stands once, in the list for the day."""
    places: str
    """Where the vehicle stops and where the hives are, or the coordinates of the site's place."""
    link: str
    """To where the vehicle stops."""
    code: Markup
    """The same link as a QR code, for paper."""
    private: SitePrivate
    dial: str
    """The private phone number for a link, empty where there is none to dial."""


@dataclass(frozen=True)
class HelperSheet:
    """The whole page in words, and `given`, what its script knows."""

    title: str
    answer: tuple[str, ...]
    """What is told first: before dark or not, when to leave, when home."""
    crew: CrewSheet
    sheet: Sheet
    stops: tuple[HelperStop, ...]
    near: tuple[NearSheet, ...]
    """Left-out work near the day, for when there is time."""
    way_home: str
    base_link: str
    load: tuple[tuple[str, str], ...]
    """The name of each material and how much of it to load."""
    cautions: tuple[str, ...]
    card: EmergencyCard
    has_private: bool
    given: dict[str, Any]


def helper_sheet(round_: Round, sheet: Sheet, index: int, private: Private) -> HelperSheet:
    """Return the day of the itinerary at `index`, with what `private` holds of its sites and no other secret."""
    itinerary, crew = round_.itineraries[index], sheet.crews[index]
    to_stops = ways((round_.base_latitude, round_.base_longitude), itinerary, round_.units)
    care = care_list(round_, ((itinerary, crew),))
    leads = {one.text: one.lead for one in care if one.usual or one.stops != 1}
    stops: list[HelperStop] = []
    for stop, shown, way in zip(itinerary.stops, crew.stops, to_stops, strict=False):
        first = sum(len(earlier.jobs) for earlier in stops)
        secret = private.get(stop.site, SitePrivate()).plain()
        cautions = told_cautions(round_, cautions_of(stop))
        found = _stop(stop, shown, way, first, _Beware.of(cautions, leads), secret)
        stops.append(replace(found, jobs=tuple(_with_feed(job, itinerary) for job in found.jobs)))
    told = sum(len(stop.jobs) for stop in stops)
    near = near_sheets(round_, itinerary, told, {one.text for one in care}, private)
    title = f"{crew.name}: {crew.date}"
    return HelperSheet(
        title=title,
        answer=crew_answer_lines(round_, index),
        crew=crew,
        sheet=sheet,
        stops=tuple(stops),
        near=near,
        way_home=to_stops[-1],
        base_link=geo_uri(round_.base_latitude, round_.base_longitude),
        load=tuple((line.name, _load(line)) for line in crew.trips[0].out),
        cautions=tuple(one.words for one in care if one.text in leads),
        card=emergency_card(round_, itinerary, crew),
        has_private=any(
            secret != SitePrivate() for secret in [*(s.private for s in stops), *(n.private for n in near)]
        ),
        given=_given(round_, itinerary, stops, near, title),
    )


def page_names(round_: Round) -> tuple[str, ...]:
    """Return the file name of each itinerary's page, `2026-12-10-rowan.html`: a to z, digits and hyphens, each once."""
    names: list[str] = []
    for itinerary in round_.itineraries:
        stem = f"{itinerary.date.isoformat()}-{slug(itinerary.crew)}"
        taken = sum(name == stem or name.startswith(f"{stem}.") for name in names)
        names.append(f"{stem}.{taken + 1}" if taken else stem)
    return tuple(f"{name}.html" for name in names)


@dataclass(frozen=True)
class _Beware:
    """The cautions of a stop: those told there, and the first words of those that stand in the list for the day."""

    here: tuple[str, ...]
    named: tuple[str, ...]

    @classmethod
    def of(cls, cautions: Sequence[str], leads: Mapping[str, str]) -> _Beware:
        named = tuple(plain_text(leads[text], LONGEST_REMINDER) for text in cautions if text in leads)
        return cls(tuple(text for text in cautions if text not in leads), named)


def _stop(stop: Stop, shown: StopSheet, way: str, first: int, beware: _Beware, private: SitePrivate) -> HelperStop:
    told = [job for job in stop.jobs if not job.to]
    jobs = [_job(first + place, job) for place, job in enumerate(told)]
    if stop.set_down is not None:
        down = stop.set_down
        took = words.duration(down.work_seconds)
        number = first + len(jobs)
        name = set_down_words(down)
        jobs.append(HelperJob(number, plain_text(down.job), name, took, title=name, hives=down.hives))
    moved = [job for job in stop.jobs if job.to]
    loads = [_job(first + place, job) for place, job in enumerate(moved)]
    return HelperStop(
        shown=shown,
        site=plain_text(stop.site),
        way=way,
        jobs=tuple(jobs),
        loads=tuple(loads),
        at_base=tuple((f"base-{shown.mark}-{place}", text) for place, text in enumerate(shown.jobs))
        if shown.at_base
        else (),
        cautions=beware.here,
        reminders=beware.named,
        places="; ".join(spot.words for spot in spots_of(stop)),
        link=geo_uri(*driven_to(stop)),
        code=trusted(place_code(*driven_to(stop), stop.name)),  # drawn by us, its title made plain
        private=private,
        dial=dialable(private.phone),
    )


def _job(number: int, job: PlannedJob) -> HelperJob:
    return HelperJob(
        number,
        plain_text(job.id),
        job_words(job),
        words.duration(job.work_seconds),
        title=job_title(job),
        matters=job_matters(job),
        kind=plain_text(job.kind),
        hives=job.hives,
    )


def _with_feed(job: HelperJob, itinerary: Itinerary) -> HelperJob:
    """Return the job with the material that it is named for, where that is on a load list of the day."""
    loaded = (item for trip in itinerary.loads for item in trip.out if item.material == job.kind)
    item = next(loaded, None)
    if item is None:
        return job
    return replace(job, feed=plain_text(item.material), feed_name=plain_text(item.name), unit=plain_text(item.unit))


def _load(line: LoadLine) -> str:
    amount = f"{line.packs}, for {line.amount}" if line.packs else line.amount
    return f"{amount}; weighs {line.weight}, takes {line.space}"


def _given(
    round_: Round, itinerary: Itinerary, stops: Sequence[HelperStop], near: Sequence[NearSheet], title: str
) -> dict[str, Any]:
    places = [driven_to(stop) for stop in itinerary.stops]
    return {
        "round": round_key(itinerary),
        "crew": plain_text(itinerary.crew),
        "date": itinerary.date.isoformat(),
        "title": title,
        "day": words.date_words(itinerary.date),
        "field": field_given(itinerary, round_.time_zone, round_.chance),
        "start": "" if round_.start is None else plain_name(round_.start.name),
        "file": f"what-i-did-{itinerary.date.isoformat()}-{slug(itinerary.crew)}.txt",
        "units": round_.units,
        "base": {
            "name": plain_name(round_.base_name),
            "latitude": round_.base_latitude,
            "longitude": round_.base_longitude,
        },
        "stops": [
            {
                "mark": stop.shown.mark,
                "name": stop.shown.name,
                "site": stop.site,
                "latitude": at[0],
                "longitude": at[1],
                "jobs": _given_jobs(stop.jobs),
                "loads": [
                    *({"key": f"hives-{job.number}", "job": str(job.number)} for job in stop.loads),
                    *({"key": key, "job": ""} for key, _ in stop.at_base),
                ],
                "told": not stop.shown.at_base,
                "near": False,
            }
            for stop, at in zip(stops, places, strict=True)
        ]
        + [
            {
                "mark": each.mark,
                "name": each.name,
                "site": each.site,
                "latitude": each.at[0],
                "longitude": each.at[1],
                "jobs": _given_jobs(each.jobs),
                "loads": [],
                "told": True,
                "near": True,
                "stop": each.stop,
            }
            for each in near
        ],
    }


def _given_jobs(jobs: Sequence[HelperJob | NearJob]) -> list[dict[str, Any]]:
    return [
        {
            "number": str(job.number),
            "id": job.id,
            "words": job.name,
            "kind": job.kind,
            "hives": job.hives,
            "feed": job.feed,
        }
        for job in jobs
    ]
