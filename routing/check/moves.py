"""Moves of hives: straight from one site to the other, after flying stops, healthy, and with a word on the distance."""

from __future__ import annotations

import math
from collections.abc import Iterator

from routing.check.exact import clock, instant
from routing.check.ground import Ground
from routing.check.rests import before_work
from routing.check.sentences import broken, same, stop_of
from routing.farm.models import Crew, Job, Place
from routing.round import Itinerary, Stop

_EARTH_METRES = 6_371_008.8
"""Source: mean radius R1 of GRS 80, Moritz, Journal of Geodesy 74, 2000. The sphere is within 0.6 % of the earth."""

_SLACK = 0.01
"""So near to a limit of the distance rule, both are right: to caution and not to."""


def jobs_of(stop: Stop, ground: Ground) -> list[Job]:
    """Return the jobs that bring the crew to a stop: those done there, or the one whose hives are set down."""
    return [
        ground.jobs[id_] for id_ in (*(job.id for job in stop.jobs), *([stop.set_down.job] if stop.set_down else ()))
    ]


def stop_seconds(stop: Stop, crew: Crew, ground: Ground) -> int:
    """Return the seconds on site: walk, one set-up, and the work on hives or setting them down; at base the loading."""
    if stop.load_again is not None:
        return ground.loading_seconds()
    jobs = jobs_of(stop, ground)
    return ground.set_down_seconds(jobs[0], crew) if stop.set_down else ground.on_site_seconds(jobs, crew)


def hives_go_straight(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each move whose hives are not set down where they should be, or not at the very next stop."""
    before: Stop | None = None
    for stop, after in zip(itinerary.stops, (*itinerary.stops[1:], None), strict=True):
        where = stop_of(itinerary, stop)
        moved = [job for job in jobs_of(stop, ground) if job.to and stop.set_down is None]
        if moved and len(stop.jobs) > 1:
            yield broken(where, "hives are moved in a visit of their own", "1 job", len(stop.jobs))
        for job in moved:
            found = (after.site, after.set_down.job) if after is not None and after.set_down else None
            if found != (job.to, job.id):
                shown = "the way home" if after is None else f"stop {after.number} at {after.site}"
                yield broken(where, "hives go straight to where they are set down", f"{job.to} next", shown)
        if stop.set_down is not None:
            loaded = [] if before is None else [job.id for job in before.jobs]
            if stop.jobs or loaded != [stop.set_down.job] or ground.jobs[stop.set_down.job].to != stop.site:
                shown = ", ".join(loaded) or "nothing"
                yield broken(where, "only hives loaded at the stop before are set down", stop.set_down.job, shown)
        before = stop


def set_downs_are_told_right(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the facts of setting hives down are not the farm's."""
    crew = ground.crews[itinerary.crew]
    for stop in itinerary.stops:
        shown = stop.set_down
        if shown is None:
            continue
        where, job = f"{stop_of(itinerary, stop)}, job {shown.job}", ground.jobs[shown.job]
        yield from same(where, "the name of the job is right", ground.kind(job).name, shown.name)
        yield from same(where, "the hives that are set down are right", job.hives, shown.hives)
        yield from same(where, "the site that the hives are from is right", job.site, shown.from_site)
        name = ground.sites[job.site].name
        yield from same(where, "the name of the site that the hives are from is right", name, shown.from_name)
        yield from same(where, "the cautions of setting down are right", ground.kind(job).cautions, shown.cautions)
        work = ground.set_down_work(job, crew)
        yield from same(where, "work_seconds of setting down are right", work, shown.work_seconds)


def nothing_leaves_a_suspect_site(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each move from or to a site that is marked last of the day."""
    for stop in itinerary.stops:
        for job in jobs_of(stop, ground):
            marked = [site.id for site in ground.ends(job) if job.to and site.last_of_day]
            if marked:
                where = stop_of(itinerary, stop)
                yield broken(where, "no hives leave or join a suspect site", "none marked last of day", marked[0])


def no_rest_before_hives_are_down(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each break that is taken while a move is under way: one comes before all its work or after it."""
    for stop in itinerary.stops:
        if stop.rest is None or not any(job.to for job in jobs_of(stop, ground)):
            continue
        begins = clock(instant(stop.rest.start), ground.zone)
        if before_work(stop) is not (stop.set_down is None):
            expected = "one before they are loaded or after they are set down"
            yield broken(stop_of(itinerary, stop), "no break while hives are on their way", expected, begins)


def cautions_are_right(where: str, job: Job, shown: tuple[str, ...], ground: Ground) -> Iterator[str]:
    """Yield where a job's cautions are not those of its kind and, where hives go too far or not far enough, of that."""
    kind = ground.kind(job)
    own = shown[: len(kind.cautions)]
    yield from same(where, "the cautions of the job are right", kind.cautions, own)
    more = shown[len(kind.cautions) :]
    near, far = ground.farm.rules.move_nearer_than_metres, ground.farm.rules.move_farther_than_km
    if not job.to or near is None or far is None:
        yield from same(where, "the cautions of the job are right", (), more)
        return
    old, new = ground.ends(job)
    metres = _metres(old.place, new.place)
    inside = near.value * (1 + _SLACK) < metres < far.value * 1000 * (1 - _SLACK)
    outside = metres < near.value * (1 - _SLACK) or metres > far.value * 1000 * (1 + _SLACK)
    said = len(more) == 1 and all(word in more[0] for word in (old.name, new.name, f"{far.value:g} km", far.source))
    if (inside and not said) or (outside and more) or (more and not said):
        expected = "none" if outside else "one that names both sites, the rule and its source"
        yield broken(where, "a caution on the distance is given where foragers fly back", expected, more or "none")


def distance_caution(job: Job, ground: Ground) -> tuple[str, ...]:
    """Return the caution on the distance of a move, none where it is near enough or far enough."""
    near, far = ground.farm.rules.move_nearer_than_metres, ground.farm.rules.move_farther_than_km
    if not job.to or near is None or far is None:
        return ()
    old, new = ground.ends(job)
    if not near.value < _metres(old.place, new.place) < far.value * 1000:
        return ()
    words = f"{old.name} and {new.name} are nearer than {far.value:g} km, so foragers may fly back to the old stand"
    return (f"Distance: {words}. Source: {far.source}",)


def _metres(here: Place, there: Place) -> float:
    """Return the great-circle distance. Source: haversine formula, R. W. Sinnott, Sky and Telescope 68, 1984."""
    up, along = math.radians(there.latitude - here.latitude), math.radians(there.longitude - here.longitude)
    wide = math.cos(math.radians(here.latitude)) * math.cos(math.radians(there.latitude))
    return 2 * _EARTH_METRES * math.asin(math.sqrt(min(1.0, math.sin(up / 2) ** 2 + wide * math.sin(along / 2) ** 2)))
