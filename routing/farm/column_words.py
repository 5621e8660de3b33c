"""What columns of places are called in tables that were not made for this program."""

from __future__ import annotations

ELSEWHERE = {
    **dict.fromkeys(("title", "label", "site", "site name", "apiary", "place name", "waypoint"), "name"),
    **dict.fromkeys(("lat", "y", "wgs84 latitude", "gps latitude", "latitud", "breitengrad"), "latitude"),
    **dict.fromkeys(
        ("lon", "long", "lng", "x", "wgs84 longitude", "gps longitude", "longitud", "laengengrad"), "longitude"
    ),
    **dict.fromkeys(
        (
            "coordinates",
            "coordinate",
            "coords",
            "location",
            "position",
            "gps",
            "grid reference",
            "grid ref",
            "geo",
            "url",
        ),
        "place",
    ),
    **dict.fromkeys(("colonies", "stocks", "number of hives", "no of hives"), "hives"),
    **dict.fromkeys(("note", "description", "desc", "comment", "comments", "remarks", "cmt"), "notes"),
}
"""Names that columns of places have in tables of other programs, as `plain` makes them."""
