"""The time zone in which a place lies. The library with the map of zones is heavy: it is imported with this module."""

from __future__ import annotations

from functools import lru_cache

from timezonefinder import TimezoneFinder

from routing.farm.models import Place


@lru_cache(maxsize=64)  # a farm is read again with each change of its files, and its base stays
def zone_at(place: Place) -> str:
    """Return the name of the time zone that a place lies in, an empty text where none is known."""
    return TimezoneFinder().timezone_at(lat=place.latitude, lng=place.longitude) or ""
