"""Left-out work near a crew's day, as its page offers it where there is time."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from routing.round import Itinerary, NumbersNear, PlannedJob, Round
from routing.share.safety.geo import coordinates
from routing.share.safety.positions import geo_uri
from routing.share.safety.private import Private, SitePrivate
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording import words
from routing.share.wording.care import told_cautions
from routing.share.wording.emergency import dialable
from routing.share.wording.sheet_crew import job_matters, job_title, job_words

MARKS = "ABCDEFGHIJ"
"""Stops have numbers, or a letter and a number; what is near has a letter alone."""


@dataclass(frozen=True)
class NearJob:
    """A left-out job in words; `number` goes on from those of the day."""

    number: int
    id: str
    name: str
    title: str
    matters: str
    duration: str
    kind: str
    hives: int
    feed: str


@dataclass(frozen=True)
class NearSheet:
    """Left-out work of one site, with what is needed to go there."""

    mark: str
    name: str
    site: str
    jobs: tuple[NearJob, ...]
    at: tuple[float, float]
    """Latitude and longitude of where the vehicle stops, else of the site."""
    link: str
    place: str
    cautions: tuple[str, ...]
    stop: int
    """Index of its stop in the numbers of the day."""
    private: SitePrivate
    dial: str
    """The private phone number for a link, empty where there is none to dial."""


def left_out_jobs(round_: Round) -> dict[str, PlannedJob]:
    """Return the jobs that a round leaves out, by id."""
    return {job.id: job for entry in round_.left_out for job in entry.jobs}


def near_work(day: Itinerary, left: Mapping[str, PlannedJob]) -> list[tuple[NumbersNear, list[PlannedJob]]]:
    """Return what is offered near a day with its jobs, none where the day has no numbers."""
    near = day.numbers.near if day.numbers is not None else ()
    return [(each, [left[job] for job in each.jobs]) for each in near if all(job in left for job in each.jobs)]


def near_sheets(
    round_: Round, day: Itinerary, first: int, told: Collection[str], private: Private
) -> tuple[NearSheet, ...]:
    """Return what is offered near a day in words, with what `private` holds of its sites and no other secret.

    Its jobs are numbered from `first`; cautions in `told` stand on the page already.
    """
    names = {entry.site: plain_name(entry.name) for entry in round_.left_out}
    fed = {each.material for each in day.numbers.materials} if day.numbers is not None else set()
    found = []
    for mark, (each, jobs) in zip(MARKS, near_work(day, left_out_jobs(round_)), strict=False):
        at = (each.latitude, each.longitude)
        cautions = dict.fromkeys(text for job in jobs for text in told_cautions(round_, job.cautions))
        took = [_work(day, each, place) for place in range(len(jobs))]
        numbered = tuple(_job(first + place, job, took[place], fed) for place, job in enumerate(jobs))
        first += len(jobs)
        secret = private.get(each.site, SitePrivate()).plain()
        found.append(
            NearSheet(
                mark=mark,
                name=names.get(each.site, each.site),
                site=plain_text(each.site),
                jobs=numbered,
                at=at,
                link=geo_uri(*at),
                place=coordinates(*at),
                cautions=tuple(text for text in cautions if text not in told),
                stop=each.stop,
                private=secret,
                dial=dialable(secret.phone),
            )
        )
    return tuple(found)


def _work(day: Itinerary, near: NumbersNear, place: int) -> int:
    """Return the seconds that one of the jobs takes the crew, its set-up not counted."""
    if day.numbers is None:
        raise AssertionError("a day without numbers has nothing near")
    job = day.numbers.stops[near.stop].jobs[place - len(near.jobs)]
    return math.ceil(round(job.hive_seconds * job.hives, 6))


def _job(number: int, job: PlannedJob, seconds: int, fed: set[str]) -> NearJob:
    return NearJob(
        number=number,
        id=plain_text(job.id),
        name=job_words(job),
        title=job_title(job),
        matters=job_matters(job),
        duration=words.duration(seconds),
        kind=plain_text(job.kind),
        hives=job.hives,
        feed=plain_text(job.kind) if job.kind in fed else "",
    )
