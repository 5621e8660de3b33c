"""Encoded polylines: a line of points as short printable text.

Source: Encoded Polyline Algorithm Format, developers.google.com/maps/documentation/utilities/polylinealgorithm; each
number is the difference to the one before, zigzag-coded, in groups of five bits with 63 added.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

_MORE, _MOST = 32, 63
"""A group of six bits: from `_MORE` on another group of the number follows."""
ROUTE_PRECISION = 6
"""Decimals of a degree in the shapes of legs."""


def encode(points: Iterable[tuple[int, int]]) -> str:
    """Return the line of points given as whole units of latitude and longitude."""
    text: list[str] = []
    before = (0, 0)
    for point in points:
        for new, old in zip(point, before, strict=True):
            left = (new - old) << 1 ^ (new - old) >> 63
            while left >= _MORE:
                text.append(chr((32 | left & 31) + 63))
                left >>= 5
            text.append(chr(left + 63))
        before = point
    return "".join(text)


def decode(text: str, precision: int = ROUTE_PRECISION) -> list[tuple[float, float]]:
    """Return the (latitude, longitude) points of a line in degrees. Raises ValueError for a broken text."""
    values = list(_values(text))
    if len(values) % 2:
        raise ValueError("a line has a latitude without a longitude")
    points: list[tuple[float, float]] = []
    latitude = longitude = 0
    for up, along in zip(values[::2], values[1::2], strict=True):
        latitude, longitude = latitude + up, longitude + along
        points.append((latitude / 10**precision, longitude / 10**precision))
    return points


def _values(text: str) -> Iterator[int]:
    value = shift = 0
    for letter in text:
        part = ord(letter) - 63
        if not 0 <= part <= _MOST:
            raise ValueError(f"{letter!r} is no part of a line")
        value |= (part & 31) << shift
        shift += 5
        if part < _MORE:
            yield value >> 1 ^ -(value & 1)
            value = shift = 0
    if shift:
        raise ValueError("a line ends in the middle of a number")
