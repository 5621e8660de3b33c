"""Small rules and sites for the tests of light and drives: round numbers that make sums easy."""

from __future__ import annotations

import datetime as dt

from routing.farm.models import DriveBand, Figure, Hours, Place, Rules, Site


def figure(value: float) -> Figure:
    return Figure(value=value, source="made up for a test", confidence="farm")


def bands(*points: tuple[float, float, float]) -> tuple[DriveBand, ...]:
    """Each point is (straight km, detour factor, km/h)."""
    return tuple(DriveBand(straight_km=km, detour_factor=detour, speed_kmh=speed) for km, detour, speed in points)


def rules(
    *,
    margin_minutes: float = 30,
    flying_stops_minutes: float = 45,
    drive_bands: tuple[DriveBand, ...] = bands((10, 1.5, 30), (20, 1.3, 40)),
    drive_factor: float = 1,
) -> Rules:
    return Rules(
        light_margin_minutes=figure(margin_minutes),
        flying_stops_minutes_after_sunset=figure(flying_stops_minutes),
        extra_hands_share=figure(0.7),
        call_in_minutes=figure(60),
        drive_bands=drive_bands,
        drive_bands_source="made up for a test",
        drive_factor=drive_factor,
    )


def place(latitude: float, longitude: float) -> Place:
    return Place(latitude=latitude, longitude=longitude)


def site(
    where: Place,
    *,
    hours: tuple[tuple[str, str], ...] = (),
    closed_weekdays: frozenset[int] = frozenset(),
    closed_dates: frozenset[dt.date] = frozenset(),
) -> Site:
    spans = tuple(Hours(opens=dt.time.fromisoformat(a), closes=dt.time.fromisoformat(b)) for a, b in hours)
    return Site(
        id="orchard",
        name="Orchard",
        place=where,
        hives=10,
        hours=spans,
        closed_weekdays=closed_weekdays,
        closed_dates=closed_dates,
    )
