"""Where a base or a site is, whichever way it was written, and whether that is likely."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Sequence

from routing.errors import PlaceError
from routing.farm.models import Place, Site
from routing.farm.places import parse_place
from routing.farm.tables import Cells

MOST_NORTH = 90
"""Degrees; what is more cannot be a latitude."""
EARTH_RADIUS_KM = 6371.0088
"""Mean radius. Source: IUGG, as used by geopy's great circle; good to 0.5 %, enough for a warning."""
FAR_KM = 200.0
SAME_SPOT_KM = 0.03
NOWHERE_DEGREES = 0.01


def located(place: str, latitude: str, longitude: str) -> Place:
    """Return the place from one text or from the pair. Raises PlaceError with a whole sentence."""
    if place and (latitude or longitude):
        raise PlaceError("has a place and also a latitude or longitude: keep one of the two")
    if place:
        return parse_place(place)
    if not latitude or not longitude:
        raise PlaceError("needs a place, or a latitude and a longitude")
    return parse_place(f"{latitude}; {longitude}")


def kilometres(start: Place, end: Place) -> float:
    """Return the great-circle distance by the haversine formula."""
    lat1, lat2 = math.radians(start.latitude), math.radians(end.latitude)
    half_lat = (lat2 - lat1) / 2
    half_lon = math.radians(end.longitude - start.longitude) / 2
    chord = math.sin(half_lat) ** 2 + math.cos(lat1) * math.cos(lat2) * math.sin(half_lon) ** 2
    return 2 * EARTH_RADIUS_KM * math.asin(math.sqrt(min(1.0, chord)))


def nowhere(place: Place) -> bool:
    """Return whether the place is at 0, 0, where programs put what they do not know."""
    return abs(place.latitude) < NOWHERE_DEGREES and abs(place.longitude) < NOWHERE_DEGREES


def doubt(place: Place, base: Place | None) -> tuple[str, str]:
    """Return what is unlikely about a site's place and what to look at; two empty texts where nothing is."""
    if nowhere(place):
        return "is at latitude 0, longitude 0, in the sea off Africa", "was the place left out?"
    if base is None or (distance := kilometres(base, place)) <= FAR_KM:
        return "", ""
    if abs(place.longitude) <= MOST_NORTH:
        swapped = Place(latitude=place.longitude, longitude=place.latitude)
        if kilometres(base, swapped) <= FAR_KM:
            return f"is {distance:.0f} km from the base", "are latitude and longitude swapped?"
    return f"is {distance:.0f} km from the base", "check its place"


def same_spots(sites: Sequence[Site]) -> list[tuple[Site, Site, float]]:
    """Return each site that is within 30 m of an earlier one, that one, and the metres between."""
    pairs = []
    cubes: dict[tuple[int, ...], list[Site]] = defaultdict(list)
    for site in sites:
        cube = _cube(site.place)
        for step in itertools.product((-1, 0, 1), repeat=3):
            around = tuple(at + by for at, by in zip(cube, step, strict=True))
            near = (other for other in cubes.get(around, ()) if kilometres(site.place, other.place) <= SAME_SPOT_KM)
            if other := next(near, None):
                pairs.append((site, other, kilometres(site.place, other.place) * 1000))
                break
        cubes[cube].append(site)
    return pairs


def _cube(place: Place) -> tuple[int, ...]:
    """Return which cube of 30 m a place on the globe lies in: places within 30 m are in the same or touching cubes."""
    latitude, longitude = math.radians(place.latitude), math.radians(place.longitude)
    from_centre = (
        math.cos(latitude) * math.cos(longitude),
        math.cos(latitude) * math.sin(longitude),
        math.sin(latitude),
    )
    return tuple(math.floor(share * EARTH_RADIUS_KM / SAME_SPOT_KM) for share in from_centre)


def place_of(cells: Cells) -> Place | None:
    """Return the place of a row, or None with a fault noted."""
    try:
        return located(cells.raw("place"), cells.raw("latitude"), cells.raw("longitude"))
    except PlaceError as error:
        cells.fault(str(error), column="place" if cells.raw("place") else "latitude")
        return None


def parking_of(cells: Cells) -> Place | None:
    """Return the stopping place of a row; None where it names none, or with a fault noted."""
    text = cells.raw("parking")
    if not text:
        return None
    try:
        return parse_place(text)
    except PlaceError as error:
        cells.fault(f"parking: {error}", column="parking")
        return None
