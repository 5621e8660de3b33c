"""The round as a whole: its version, farm, base and dates, and that it speaks only of what the farm has."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from routing.check.ground import Ground
from routing.check.sentences import WHOLE, broken, day_of, left_of, same
from routing.farm.models import BASE
from routing.round import SCHEMA_VERSION, Itinerary, LeftOut, Round, Stop
from routing.travel.leg_origin import LegOrigin


def day_speaks_of_the_farm(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each crew, site and job of a day that the farm does not have, and what nothing else could be held to."""
    if itinerary.crew not in ground.crews:
        yield broken(day_of(itinerary), "every crew is the farm's", "a crew of the farm", itinerary.crew)
    for stop in itinerary.stops:
        yield from _known_in_stop(f"{day_of(itinerary)}, stop {stop.number} at {stop.site}", stop, ground)
    if not itinerary.stops:
        yield broken(day_of(itinerary), "an itinerary has at least one stop", "1 or more", 0)


def _known_in_stop(where: str, stop: Stop, ground: Ground) -> Iterator[str]:
    if stop.load_again is not None:
        if stop.site != BASE or stop.jobs or stop.set_down is not None:
            yield broken(where, "loading again is at base, with no job", "base and no job", stop.site)
        return
    if stop.site not in ground.sites:
        yield broken(where, "every site is the farm's", "a site of the farm", stop.site)
    for job in stop.jobs:
        if job.id not in ground.jobs:
            yield broken(where, "no job is invented", "a job of the farm", job.id)
    if stop.set_down is not None and stop.set_down.job not in ground.jobs:
        yield broken(where, "no job is invented", "a job of the farm", stop.set_down.job)
    if not stop.jobs and stop.set_down is None:
        yield broken(where, "every visit has a job", "at least 1 job", "none")


def left_out_speaks_of_the_farm(left: LeftOut, ground: Ground) -> Iterator[str]:
    """Yield each site and job of an entry that the farm does not have."""
    if left.site not in ground.sites:
        yield broken(left_of(left), "every site is the farm's", "a site of the farm", left.site)
    for job in left.jobs:
        if job.id not in ground.jobs:
            yield broken(left_of(left), "no job is invented", "a job of the farm", job.id)
    if not left.jobs:
        yield broken(left_of(left), "every entry left out has a job", "at least 1 job", "none")


def is_this_farm(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield where version, names, base, zone, units or emergency number are not the farm's."""
    farm = ground.farm
    yield from same(WHOLE, "the schema version is the one of today", SCHEMA_VERSION, round_.schema_version)
    yield from same(WHOLE, "the farm's name is right", farm.name, round_.farm)
    yield from same(WHOLE, "the base's name is right", farm.base.name, round_.base_name)
    underway = farm.underway
    begins = underway and (underway.name, underway.place.latitude, underway.place.longitude, underway.counted)
    here = round_.start
    found = here and (here.name, here.latitude, here.longitude, here.counted)
    yield from same(WHOLE, "the round starts where the crew stands", begins, found)
    yield from same(WHOLE, "the base's latitude is right", farm.base.place.latitude, round_.base_latitude)
    yield from same(WHOLE, "the base's longitude is right", farm.base.place.longitude, round_.base_longitude)
    yield from same(WHOLE, "the time zone is the farm's", farm.time_zone, round_.time_zone)
    yield from same(WHOLE, "the units are the farm's", farm.rules.units, round_.units)
    yield from same(WHOLE, "the emergency number is the farm's", farm.rules.emergency_number, round_.emergency_number)


def dates_agree(round_: Round, _ground: Ground) -> Iterator[str]:
    """Yield where the round has no dates, has them out of order or twice, or an itinerary is on another date."""
    in_order = tuple(sorted(set(round_.dates)))
    if not round_.dates or in_order != round_.dates:
        dates = ", ".join(str(date) for date in round_.dates) or "none"
        yield broken(WHOLE, "dates are in order, each once", "one date or more", dates)
    for itinerary in round_.itineraries:
        if itinerary.date not in round_.dates:
            dates = " or ".join(str(date) for date in round_.dates)
            yield broken(day_of(itinerary), "the date is one of the round's", dates, itinerary.date)
    days = Counter((itinerary.crew, itinerary.date) for itinerary in round_.itineraries)
    for (crew, date), times in sorted(days.items()):
        yield from same(f"crew {crew} on {date}", "a crew has one itinerary a date", 1, times)


def even_days_are_told_right(round_: Round, _ground: Ground) -> Iterator[str]:
    """Yield where even days are told of and the longest day is not the longest of the round, or was shorter before."""
    if round_.even is None:
        return
    away = max((itinerary.away_seconds for itinerary in round_.itineraries), default=0)
    yield from same(WHOLE, "the longest of even days is that of the round", away, round_.even.longest_seconds)
    if round_.even.longest_before_seconds < round_.even.longest_seconds:
        expected = f"at least {round_.even.longest_seconds} s before"
        yield broken(WHOLE, "even days have no longer day", expected, round_.even.longest_before_seconds)


def estimates_are_named(round_: Round, _ground: Ground) -> Iterator[str]:
    """Yield where a drive is an estimate and the round does not say that anything is one."""
    for itinerary in round_.itineraries:
        drives = (*(stop.drive for stop in itinerary.stops), itinerary.drive_home)
        if not round_.estimates and any(drive.origin is LegOrigin.ESTIMATE for drive in drives):
            yield broken(day_of(itinerary), "a round on estimated drives says so", "a sentence in estimates", "none")


def notes_on_legs_are_told(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield each estimate of the road map that the round does not name."""
    for note in ground.roads.notes:
        if note not in round_.estimates:
            yield broken(WHOLE, "what the road map estimates is said", note, "not said")


def points_of(itinerary: Itinerary) -> tuple[str, ...]:
    """Return the places of a day in order: base, the sites, base."""
    return (BASE, *(stop.site for stop in itinerary.stops), BASE)
