"""A round as it goes out to its crews: what a report of each day may say, to be held against what comes back."""

from __future__ import annotations

from collections.abc import Mapping

from routing.round import Itinerary, PlannedJob, Round, Stop
from routing.season.sent_rounds import WrittenDay, WrittenJob
from routing.share.safety.safe import plain_text
from routing.share.wording.helper_sheet import round_key
from routing.share.wording.near import left_out_jobs, near_work


def days_of(round_: Round, shown: Round | None = None) -> tuple[WrittenDay, ...]:
    """Return each crew's day, with the key of its page.

    `shown` is the same round as its pages show it, where that is another: under nicknames.
    """
    pairs = zip(round_.itineraries, (shown or round_).itineraries, strict=True)
    left = left_out_jobs(round_)
    return tuple(_day(own, told, left) for own, told in pairs)


def _day(own: Itinerary, told: Itinerary, left: Mapping[str, PlannedJob]) -> WrittenDay:
    """Return a day; work near it, which only a page under true names offers, is `left` out of the round."""
    stops = list(zip(own.stops, told.stops, strict=True))
    jobs = [
        WrittenJob(told=plain_text(its), id=id_, site=stop.site, kind=kind, hives=hives)
        for stop, shown in stops
        for (id_, kind, hives), (its, _, _) in zip(_jobs(stop), _jobs(shown), strict=True)
    ]
    near = near_work(told, left)
    jobs += [
        WrittenJob(told=plain_text(job.id), id=job.id, site=each.site, kind=job.kind, hives=job.hives)
        for each, its in near
        for job in its
    ]
    sites = (*(shown.site for _, shown in stops if shown.load_again is None), *(each.site for each, _ in near))
    return WrittenDay(
        key=round_key(told),
        crew=own.crew,
        date=own.date,
        home=own.home,
        sites=tuple(dict.fromkeys(plain_text(site) for site in sites)),
        jobs=tuple(jobs),
    )


def _jobs(stop: Stop) -> list[tuple[str, str, int]]:
    """Return what is ticked off at a stop, as the page has it: a move where its hives are set down."""
    down = [(stop.set_down.job, "", stop.set_down.hives)] if stop.set_down is not None else []
    return [*((job.id, job.kind, job.hives) for job in stop.jobs if not job.to), *down]
