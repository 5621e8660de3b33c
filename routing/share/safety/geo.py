"""Points and the ways between them in words: coordinates and compass directions."""

from __future__ import annotations

from itertools import pairwise

import pyproj

from routing.round import Itinerary, Stop
from routing.share.wording import words

COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
"""The eight winds, clockwise from north, 45 degrees each."""


def degrees(value: float, decimals: int = 5) -> str:
    """Return degrees with so many decimals (5 are a metre or so), never as `-0.00000`."""
    text = f"{value:.{decimals}f}"
    return text.removeprefix("-") if float(text) == 0 else text


def coordinates(latitude: float, longitude: float) -> str:
    """Return `52.22050, -2.91050`: latitude first, as they are read out."""
    return f"{degrees(latitude)}, {degrees(longitude)}"


def towards(start: tuple[float, float], end: tuple[float, float]) -> str:
    """Return the compass direction in which to set off from `start` to `end`, both (latitude, longitude).

    The initial azimuth of the geodesic on WGS 84, to the nearest of eight winds; `here` where both are one place.
    Source: C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), by way of PROJ.
    """
    azimuth, _, metres = pyproj.Geod(ellps="WGS84").inv(start[1], start[0], end[1], end[0])
    return COMPASS[round(azimuth % 360 / 45) % len(COMPASS)] if metres >= 1 else "here"


def driven_to(stop: Stop) -> tuple[float, float]:
    """Return the latitude and longitude that is driven to: where the vehicle stops, else the site's place."""
    at = stop.stopping_place or stop
    return at.latitude, at.longitude


def ways(base: tuple[float, float], itinerary: Itinerary, units: str) -> tuple[str, ...]:
    """Return for each drive, the one home last, its distance and direction: `3.2 miles, setting off south-east`."""
    places = [base, *(driven_to(stop) for stop in itinerary.stops), base]
    drives = [*(stop.drive for stop in itinerary.stops), itinerary.drive_home]
    return tuple(
        f"{words.distance(drive.metres, units)} to the {towards(*pair)}"
        if towards(*pair) != "here"
        else words.distance(drive.metres, units)
        for drive, pair in zip(drives, pairwise(places), strict=True)
    )
