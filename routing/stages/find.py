"""Where a place is: by its name in the farm's own files and road map, or asked of a service; and the road near it."""

from __future__ import annotations

import datetime as dt
import math
from zoneinfo import ZoneInfo

from routing import travel
from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.models import Farm, Place, Site
from routing.travel.background import Background
from routing.travel.farm import farm_background
from routing.travel.named import Named, search
from routing.travel.thin import METRES_PER_DEGREE

FIRST_LOOK_METRES = 6000
"""So far around base the land is drawn before there is a site."""
HERE = "here"
"""The id of the site that stands for a place that is only looked at."""


def found(farm: Farm, words: str) -> list[Named]:
    """Return what the words may mean: the farm's sites and base, then the names in its road map; nothing is sent.

    Raises RoadError where the map cannot be read.
    """
    own = [Named(farm.base.name, "base", farm.base.place), *(Named(s.name, "site", s.place) for s in farm.sites)]
    own += [Named(site.id, "site", site.place) for site in farm.sites if site.id != site.name]
    names = () if farm.road_map is None else travel.roads.place_names.place_names(farm.road_map)
    return [*search(own, words, farm.base.place), *search(names, words, farm.base.place)]


def asked(farm: Farm, words: str) -> tuple[Named, ...]:
    """Return what the service that farm.toml names says; the words go to it, and nothing else.

    Raises AskedError where farm.toml names none, or no answer comes, and WriteError where the answer cannot be kept.
    """
    if farm.finder is None:
        raise AskedError(
            "farm.toml names no service to ask: write its address under [find], as docs/farm-files.md says"
        )
    today = dt.datetime.now(ZoneInfo(farm.time_zone)).date()
    return travel.geocoder.asked(farm.folder, farm.finder, words, today)


def before_asking(farm: Farm) -> str:
    """Return what is to be said before a service is asked; empty where farm.toml names none."""
    if farm.finder is None:
        return ""
    host, terms = quoted(farm.finder.host)[1:-1], farm.finder.terms
    return f"{host} is sent these words and this computer's network address, nothing of the farm. Its terms: {terms}"


def road_near(farm: Farm, place: Place) -> tuple[str, ...]:
    """Return where each sort of vehicle would stop for hives at a place, and the walk; nothing without a road map.

    Raises RoadError where the map cannot be used, or does not cover the place.
    """
    if farm.road_map is None:
        return ()
    site = Site(id=HERE, name="This place", place=place, hives=1, line=0)
    alone = farm.model_copy(update={"sites": (site,), "jobs": (), "known_drives": ()})
    return travel.roads.report.stops(travel.roads.farm.open_roads(alone))


def land(farm: Farm) -> Background | None:
    """Return the roads and the land around base and sites, None without a road map. Raises RoadError.

    While there is no site yet it is as much as sites are likely to be looked for in.
    """
    base = farm.base.place
    around = [site.place for site in farm.sites] or [_away(base, north, east) for north in (-1, 1) for east in (-1, 1)]
    return farm_background(farm, (base, *around))


def _away(place: Place, north: int, east: int) -> Place:
    """Return a place to look at beside another, some kilometres off in both directions."""
    up = FIRST_LOOK_METRES / METRES_PER_DEGREE
    along = up / max(0.1, math.cos(math.radians(place.latitude)))
    latitude = min(90.0, max(-90.0, place.latitude + north * up))
    return Place(latitude=latitude, longitude=(place.longitude + east * along + 180) % 360 - 180)
