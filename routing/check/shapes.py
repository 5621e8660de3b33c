"""The ways of the legs: drawn as the road map has them, from place to place, and as long as they are said to be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from routing.check.ground import Ground
from routing.check.header import points_of
from routing.check.sentences import broken, day_of, same, stop_of
from routing.farm.models import BASE, Place
from routing.round import Drive, Itinerary
from routing.travel.leg_origin import LegOrigin

_MORE, _GROUPS = 32, 64
"""Of the groups of six bits in an encoded line, those from `_MORE` on are followed by another of the number."""
_EARTH_METRES = 6_371_008.8
"""Source: mean radius R1 of GRS 80, Moritz, Journal of Geodesy 74, 2000. The sphere is within 0.6 % of the earth."""

_SLACK_SHARE, _SLACK_METRES = 0.03, 40.0
"""How far a drawn line may be off the metres of its leg: the sphere, rounding, and ways met on both sides of a road."""

_ONE_SPOT_METRES = 10.0
"""A line ends on the road at the stopping place, but for rounding and the few metres that make it a crossroads."""

Point = tuple[float, float]


def ways_are_the_legs(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each drive whose line or turns are not those of the leg."""
    legs = ground.roads.of(ground.crews[itinerary.crew].vehicle)
    for where, drive, start, end in _drives(itinerary):
        way = legs.way(legs.index(start), legs.index(end))
        yield from same(where, f"the line driven from {start} is the leg's", way.shape, drive.shape)
        yield from same(where, f"the turns from {start} are the leg's", way.turns, drive.turns)


def shapes_join_their_places(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each line that ends farther from its places than it may be walked, or is not as long as its leg."""
    told = {
        stop.site: (stop.stopping_place.latitude, stop.stopping_place.longitude)
        for stop in itinerary.at_sites
        if stop.stopping_place is not None and ground.sites[stop.site].parking is None
    }
    for where, drive, start, end in _drives(itinerary):
        if not drive.shape:
            continue
        points = _points(drive.shape)
        if points is None:
            yield broken(where, "the line driven can be read", "a line", drive.shape)
            continue
        for place, point in ((start, points[0]), (end, points[-1])):
            away, most = _metres(_place(place, ground), point), _furthest(place, ground)
            if away > most:
                yield broken(where, f"the line driven meets {place}", f"within {most:.0f} m", f"{away:.0f} m")
            stops_at = told.get(place)
            if stops_at is not None and _metres(stops_at, point) > _ONE_SPOT_METRES:
                expected = f"within {_ONE_SPOT_METRES:.0f} m"
                yield broken(where, f"the vehicle stops at {place} where the line ends", expected, "farther away")
        length = sum(_metres(here, there) for here, there in pairwise(points))
        known_only = drive.origin is LegOrigin.KNOWN
        if not known_only and abs(length - drive.metres) > max(_SLACK_METRES, _SLACK_SHARE * drive.metres):
            yield broken(where, "the line driven is as long as the leg", f"{drive.metres} m", f"{length:.0f} m")


def stopping_places_are_right(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each stopping place that is not the site's own, is not told or told of from nowhere, or is too far off."""
    shown = {place for _, drive, start, end in _drives(itinerary) if drive.shape for place in (start, end)}
    for stop in itinerary.at_sites:
        where, site, told = stop_of(itinerary, stop), ground.sites[stop.site], stop.stopping_place
        parked = ground.roads.of(ground.crews[itinerary.crew].vehicle).parked.get(stop.site)
        if told is not None and parked is not None:
            yield from same(where, "the road stopped on is the legs'", parked.road, told.road)
        found = None if told is None else (told.latitude, told.longitude)
        if site.parking is not None:
            yield from same(where, "the vehicle stops at the site's own place", _point(site.parking), found)
        elif found is None and stop.site in shown:
            yield broken(where, "it is told where the vehicle stops", "a stopping place", "none")
        elif found is not None and ground.farm.road_map is None:
            yield broken(where, "without a road map only the site's own stopping place is told", "none", found)
        elif found is not None and _metres(_point(site.place), found) > _furthest(site.id, ground):
            most = f"within {_furthest(site.id, ground):.0f} m"
            yield broken(where, "the vehicle stops near enough to walk", most, "farther away")


def _drives(itinerary: Itinerary) -> Iterator[tuple[str, Drive, str, str]]:
    """Yield every drive of the day with where it stands, its start and its end."""
    places = points_of(itinerary)
    wheres = (*(stop_of(itinerary, stop) for stop in itinerary.stops), f"{day_of(itinerary)}, the way home")
    drives = (*(stop.drive for stop in itinerary.stops), itinerary.drive_home)
    yield from zip(wheres, drives, places[:-1], places[1:], strict=True)


def _place(place: str, ground: Ground) -> Point:
    """Return the point that is driven to: of a site its own stopping place, else where the hives are."""
    if place == BASE:
        return _point(ground.farm.base.place)
    return _point(ground.sites[place].parking or ground.sites[place].place)


def _point(place: Place) -> Point:
    return place.latitude, place.longitude


def _furthest(place: str, ground: Ground) -> float:
    """Return the metres that a road may be from a place: the rule, or a longer walk that the site has."""
    rules = ground.farm.rules.roads
    if rules is None:
        return 0.0
    at_hives = place != BASE and ground.sites[place].parking is None
    own = 0.0 if not at_hives else ground.sites[place].walking_minutes * rules.walking_kmh.value * 1000 / 60
    return max(own, rules.furthest_walk_metres.value) * (1 + _SLACK_SHARE)


def _metres(here: Point, there: Point) -> float:
    """Return the great-circle distance. Source: haversine formula, R. W. Sinnott, Sky and Telescope 68, 1984."""
    up, along = math.radians(there[0] - here[0]), math.radians(there[1] - here[1])
    wide = math.cos(math.radians(here[0])) * math.cos(math.radians(there[0]))
    return 2 * _EARTH_METRES * math.asin(math.sqrt(min(1.0, math.sin(up / 2) ** 2 + wide * math.sin(along / 2) ** 2)))


def _points(shape: str) -> tuple[Point, ...] | None:
    """Return the points of an encoded line of precision 6, None where it is none.

    Source: Encoded Polyline Algorithm Format, developers.google.com/maps/documentation/utilities/polylinealgorithm.
    """
    numbers: list[int] = []
    bits: list[int] = []
    for letter in shape:
        group = ord(letter) - 63
        if not 0 <= group < _GROUPS:
            return None
        bits.append(group % 32)
        if group < _MORE:
            value = sum(part * 32**place for place, part in enumerate(bits))
            numbers.append(-(value + 1) // 2 if value % 2 else value // 2)
            bits = []
    if bits or len(numbers) % 2 or not numbers:
        return None
    points, up, along = [], 0, 0
    for step in range(0, len(numbers), 2):
        up, along = up + numbers[step], along + numbers[step + 1]
        points.append((up / 1_000_000, along / 1_000_000))
    return tuple(points)
