"""The line that a crew drives: along the roads where their shape is known, else straight from place to place."""

from __future__ import annotations

from routing.round import Drive, Itinerary, Round
from routing.share.safety.geo import driven_to
from routing.share.safety.positions import degrees
from routing.travel.polyline import decode

Point = tuple[float, float]
"""Latitude and longitude, WGS 84 decimal degrees, rounded as every exported file holds them."""


MOST_NORTH, MOST_EAST = 90, 180
"""Degrees."""


def way_points(round_: Round, itinerary: Itinerary) -> tuple[Point, ...]:
    """Return the points of one crew's day from base over where it stops and home, no two neighbours the same.

    Between two places the drive's own shape is followed where it has one.
    """
    base = _rounded((round_.base_latitude, round_.base_longitude))
    points: list[Point] = [base]
    for stop in itinerary.stops:
        points += (*shape_points(stop.drive), _rounded(driven_to(stop)))
    points += (*shape_points(itinerary.drive_home), base)
    return tuple(point for index, point in enumerate(points) if index == 0 or point != points[index - 1])


def _rounded(point: Point) -> Point:
    return degrees(point[0]), degrees(point[1])


def shape_points(drive: Drive) -> tuple[Point, ...]:
    """Return the points of a drive's shape; none where it has none or the text is no line on the earth.

    A saved round may hold any text; the check refuses such a round, and a line is never worth a crash.
    """
    try:
        points = decode(drive.shape)
    except ValueError:
        return ()
    if any(abs(latitude) > MOST_NORTH or abs(longitude) > MOST_EAST for latitude, longitude in points):
        return ()
    return tuple((degrees(latitude), degrees(longitude)) for latitude, longitude in points)
