"""A crew's day beside the plan that was written for it: what is lost, what is gained, and when it is home."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from routing.farm.models import Rank
from routing.round import Itinerary, PlannedJob, Round
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.answer import MOST_NAMED, rank_words
from routing.share.wording.words import minute_reached, minutes_words

NOT_COMPARED = "No plan of this day is written, so what is lost or gained beside it is not told."

Jobs = Mapping[str, tuple[str, PlannedJob]]
"""The name of the site and the job, by the job's id."""


def beside_lines(new: Round, crew: str, planned: Round | None) -> tuple[str, ...]:
    """Return what this crew's day in `new` loses and gains beside the written plan of the same date, in a sentence.

    Lost is what the crew does in the plan and nobody does now; what is done by now is in neither.
    """
    if planned is None:
        return (NOT_COMPARED,)
    before = [day for day in planned.itineraries if day.crew == crew]
    now = [day for day in new.itineraries if day.crew == crew]
    left = {job.id for visit in new.left_out for job in visit.jobs}
    lost = {id_: told for id_, told in _jobs(before).items() if id_ in left}
    gained = {id_: told for id_, told in _jobs(now).items() if id_ not in _jobs(planned.itineraries)}
    others = [day for day in planned.itineraries if day.crew != crew]
    taken = {id_: told for id_, told in _jobs(now).items() if id_ in _jobs(others)}
    parts = [
        f"{what} {_counted(jobs)}"
        for what, jobs in (("lost", lost), ("gained", gained), ("taken from other crews", taken))
        if jobs
    ]
    parts = parts or ["nothing lost, nothing gained"]
    if before and now:
        parts.append(_home(before[0].home, now[0].home))
    return (f"Beside the written plan: {'; '.join(parts)}.",)


def listed(text: str) -> tuple[str, ...]:
    """Return a sentence that lists (`It would be: this; that; more.`) as its beginning and an item each."""
    plain = plain_text(text)
    head, colon, rest = plain.partition(": ")
    items = rest.rstrip(".").split("; ")
    return (f"{head}:", *(f"- {item}" for item in items)) if colon and len(items) > 1 else (plain,)


def _jobs(days: Sequence[Itinerary]) -> Jobs:
    return {job.id: (stop.name, job) for day in days for stop in day.stops for job in stop.jobs}


def _counted(jobs: Jobs) -> str:
    """Return `2 wants (Long Stone, Kiln Bank), 1 passing job (Ridge Barn)`."""
    parts = []
    for rank in Rank:
        names = [plain_name(name) for name, job in jobs.values() if job.rank is rank]
        shown = list(dict.fromkeys(names))
        more = ", ..." if len(shown) > MOST_NAMED else ""
        if names:
            parts.append(f"{len(names)} {rank_words(rank, len(names))} ({', '.join(shown[:MOST_NAMED])}{more})")
    return ", ".join(parts)


def _home(before: dt.datetime, now: dt.datetime) -> str:
    minutes = int((minute_reached(now) - minute_reached(before)).total_seconds()) // 60
    if minutes == 0:
        return "home at the same time"
    return f"home {minutes_words(abs(minutes))} {'later' if minutes > 0 else 'sooner'}"
