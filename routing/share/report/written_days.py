"""A round as it goes out to its crews: what a report of each day may say, to be held against what comes back."""

from __future__ import annotations

from routing.round import Itinerary, Round, Stop
from routing.season.sent_rounds import WrittenDay, WrittenJob
from routing.share.safety.safe import plain_text
from routing.share.wording.helper_sheet import round_key


def days_of(round_: Round, shown: Round | None = None) -> tuple[WrittenDay, ...]:
    """Return each crew's day, with the key of its page.

    `shown` is the same round as its pages show it, where that is another: under nicknames.
    """
    pairs = zip(round_.itineraries, (shown or round_).itineraries, strict=True)
    return tuple(_day(own, told) for own, told in pairs)


def _day(own: Itinerary, told: Itinerary) -> WrittenDay:
    stops = list(zip(own.stops, told.stops, strict=True))
    jobs = [
        WrittenJob(told=plain_text(its), id=id_, site=stop.site, kind=kind, hives=hives)
        for stop, shown in stops
        for (id_, kind, hives), (its, _, _) in zip(_jobs(stop), _jobs(shown), strict=True)
    ]
    return WrittenDay(
        key=round_key(told),
        crew=own.crew,
        date=own.date,
        home=own.home,
        sites=tuple(dict.fromkeys(plain_text(shown.site) for _, shown in stops if shown.load_again is None)),
        jobs=tuple(jobs),
    )


def _jobs(stop: Stop) -> list[tuple[str, str, int]]:
    """Return what is ticked off at a stop, as the page has it: a move where its hives are set down."""
    down = [(stop.set_down.job, "", stop.set_down.hives)] if stop.set_down is not None else []
    return [*((job.id, job.kind, job.hives) for job in stop.jobs if not job.to), *down]
