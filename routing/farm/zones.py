"""The time zone in which a place lies. The library with the map of zones is heavy: it is imported with this module."""

from __future__ import annotations

from timezonefinder import TimezoneFinder

from routing.farm.models import Place


def zone_at(place: Place) -> str:
    """Return the name of the time zone that a place lies in, an empty text where none is known."""
    return TimezoneFinder().timezone_at(lat=place.latitude, lng=place.longitude) or ""
