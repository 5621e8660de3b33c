"""The line that a crew drives: along the roads where their shape is known, else straight from place to place."""

from __future__ import annotations

from routing.errors import AskedError
from routing.round import Drive, Itinerary, Round
from routing.share.positions import degrees

Point = tuple[float, float]
"""Latitude and longitude, WGS 84 decimal degrees, rounded as every exported file holds them."""

SHAPE_SCALE = 1_000_000
"""Six decimals of a degree, one integer step each."""


def way_points(round_: Round, itinerary: Itinerary) -> tuple[Point, ...]:
    """Return the points of one crew's day from base over its stops and home, no two neighbours the same.

    Between two places the drive's own shape is followed where it has one. Raises AskedError for a shape that is none.
    """
    base = (degrees(round_.base_latitude), degrees(round_.base_longitude))
    points: list[Point] = [base]
    for stop in itinerary.stops:
        points += (*_shape(stop.drive), (degrees(stop.latitude), degrees(stop.longitude)))
    points += (*_shape(itinerary.drive_home), base)
    return tuple(point for index, point in enumerate(points) if index == 0 or point != points[index - 1])


def decode_shape(text: str) -> tuple[Point, ...]:
    """Return the points of an encoded polyline of six decimals. Raises AskedError where the text is not one.

    Source: Google, Encoded Polyline Algorithm Format: differences, zigzag signs, five bits a letter, lowest first.
    """
    numbers = _numbers(text)
    if len(numbers) % 2:
        raise AskedError("the shape of a road in the round is cut short; plan the round again")
    points: list[Point] = []
    north = east = 0
    for step_north, step_east in zip(numbers[::2], numbers[1::2], strict=True):
        north, east = north + step_north, east + step_east
        points.append((degrees(north / SHAPE_SCALE), degrees(east / SHAPE_SCALE)))
    if any(abs(latitude) > 90 or abs(longitude) > 180 for latitude, longitude in points):  # noqa: PLR2004 -- degrees
        raise AskedError("the shape of a road in the round leaves the earth; plan the round again")
    return tuple(points)


def _shape(drive: Drive) -> tuple[Point, ...]:
    text = getattr(drive, "shape", "")
    return decode_shape(text) if text else ()


def _numbers(text: str) -> list[int]:
    numbers: list[int] = []
    value = shift = 0
    for letter in text:
        bits = ord(letter) - 63
        if not 0 <= bits < 64 or shift > 30:  # noqa: PLR2004 -- six bits a letter; 360 degrees need no more than 30
            raise AskedError("the shape of a road in the round holds what no shape can; plan the round again")
        value |= (bits & 0x1F) << shift
        shift += 5
        if bits < 0x20:  # noqa: PLR2004 -- the sixth bit says that more follows
            numbers.append(~(value >> 1) if value & 1 else value >> 1)
            value = shift = 0
    if shift:
        raise AskedError("the shape of a road in the round is cut short; plan the round again")
    return numbers
