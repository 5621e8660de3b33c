"""The sun of every place and date: in order, without gaps and without exceptions."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.daylight.sun import SunDay, sun_day
from routing.farm.models import Place
from tests.daylight.builders import place

LONDON = place(51.5074, -0.1278)
LERWICK = place(60.155, -1.145)
TROMSO = place(69.6492, 18.9553)
WELLINGTON = place(-41.2865, 174.7762)
UK = ZoneInfo("Europe/London")
NORWAY = ZoneInfo("Europe/Oslo")
NEW_ZEALAND = ZoneInfo("Pacific/Auckland")
UTC = ZoneInfo("UTC")

PLACES = {
    "London": (LONDON, UK),
    "Lerwick": (LERWICK, UK),
    "Tromso": (TROMSO, NORWAY),
    "Wellington": (WELLINGTON, NEW_ZEALAND),
    "equator": (place(0, 0), UTC),
    "near the north pole": (place(89.9, 25), UTC),
    "north pole": (place(90, 0), UTC),
    "south pole": (place(-90, 0), NEW_ZEALAND),
    "date line": (place(-16.5, 180), ZoneInfo("Pacific/Fiji")),
}


def year(name: str) -> list[SunDay]:
    where, zone = PLACES[name]
    return [sun_day(where, dt.date(2025, 1, 1) + dt.timedelta(days=day), zone) for day in range(365)]


def in_order(day: SunDay) -> list[dt.datetime]:
    """Return the events of a day that do happen, in the order in which they must."""
    events = (day.civil_dawn, day.sunrise, day.sunset, day.civil_dusk)
    return [event.astimezone(dt.UTC) for event in events if event]


@pytest.mark.parametrize("name", PLACES)
def test_events_of_every_day_of_a_year_are_in_order(name: str) -> None:
    """Dawn, sunrise, sunset and dusk follow each other on all 365 days, within one turn of the earth."""
    for day in year(name):
        events = in_order(day)
        assert events == sorted(set(events)), day
        if events:
            assert events[-1] - events[0] < dt.timedelta(hours=24, minutes=2), day


@pytest.mark.parametrize("name", PLACES)
def test_flags_of_every_day_of_a_year_agree_with_the_events(name: str) -> None:
    """A sun that is always up or never up has no rise and no set, and both cannot be; likewise for twilight."""
    for day in year(name):
        assert not (day.always_up and day.always_dark), day
        if day.always_up or day.always_dark:
            assert (day.sunrise, day.sunset) == (None, None), day
        else:
            assert day.sunrise or day.sunset, day
        if day.twilight_all_night or day.no_twilight:
            assert (day.civil_dawn, day.civil_dusk) == (None, None), day
        else:
            assert day.civil_dawn or day.civil_dusk, day
        if day.always_up:
            assert not day.no_twilight, day
        if day.no_twilight:
            assert day.always_dark, day


@pytest.mark.parametrize("name", ["London", "Lerwick", "Wellington", "equator", "date line"])
def test_places_outside_the_polar_circles_have_a_sunrise_and_a_sunset_every_day(name: str) -> None:
    """365 sunrises and sunsets a year, each about a day after the last: at 60 degrees they shift by up to 3 min 3 s."""
    days = year(name)
    for event in ("sunrise", "sunset"):
        moments = [getattr(day, event).astimezone(dt.UTC) for day in days]
        steps = [later - sooner for sooner, later in pairwise(moments)]
        assert max(abs(step - dt.timedelta(days=1)) for step in steps) < dt.timedelta(minutes=4)


def test_tromso_has_its_published_number_of_polar_days_and_nights() -> None:
    """No rise and no set on 27 Nov-14 Jan and 18 May-25 Jul: here by solar day, so the edge days may differ by one.

    Source: skyfield with DE421 for 69.6492 N 18.9553 E, local dates of 2025.
    """
    days = year("Tromso")
    dark = [day.date for day in days if day.always_dark]
    up = [day.date for day in days if day.always_up]
    assert dark == [
        *(dt.date(2025, 1, day) for day in range(1, 15)),
        *(dt.date(2025, 11, day) for day in range(27, 31)),
        *(dt.date(2025, 12, day) for day in range(1, 32)),
    ]
    assert abs((up[0] - dt.date(2025, 5, 18)).days) <= 1
    assert abs((up[-1] - dt.date(2025, 7, 25)).days) <= 1
    assert len(up) == (up[-1] - up[0]).days + 1


def test_a_polar_night_without_sunrise_still_has_its_twilight_around_noon() -> None:
    """Tromso on 21 December: dawn 09:31:24, dusk 13:53:15, no sunrise. Source: skyfield with DE421."""
    day = sun_day(TROMSO, dt.date(2025, 12, 21), NORWAY)
    assert day.always_dark
    assert not day.no_twilight
    assert day.civil_dawn is not None
    assert day.civil_dusk is not None
    assert day.civil_dawn.replace(microsecond=0).time() == dt.time(9, 31, 24)
    assert day.civil_dusk.replace(microsecond=0).time() == dt.time(13, 53, 15)


def test_polar_day_has_no_event_at_all() -> None:
    """Tromso on 21 June. Source: skyfield with DE421: all four events missing."""
    day = sun_day(TROMSO, dt.date(2025, 6, 21), NORWAY)
    assert day.always_up
    assert day.twilight_all_night
    assert in_order(day) == []


def test_poles_have_one_sunrise_and_one_sunset_a_year() -> None:
    """At 90 degrees the sun goes round level: up for half a year, with one rise in March and one set in September."""
    north, south = year("north pole"), year("south pole")
    assert [day.date.month for day in north if day.sunrise] == [3]
    assert [day.date.month for day in north if day.sunset] == [9]
    assert [day.date.month for day in south if day.sunrise] == [9]
    assert [day.date.month for day in south if day.sunset] == [3]


def test_dusk_is_the_one_after_that_days_sunset_even_past_midnight() -> None:
    """Lerwick, 21 June 2025: the dusk that falls on that date is last night's; the one meant is on the 22nd."""
    day = sun_day(LERWICK, dt.date(2025, 6, 21), UK)
    assert day.civil_dusk is not None
    assert day.civil_dusk.date() == dt.date(2025, 6, 22)
    assert dt.time(0, 25) < day.civil_dusk.time() < dt.time(0, 27)


@pytest.mark.parametrize(
    ("where", "zone", "change", "hours"),
    [
        (LONDON, UK, dt.date(2025, 3, 30), 1),
        (LONDON, UK, dt.date(2025, 10, 26), -1),
        (WELLINGTON, NEW_ZEALAND, dt.date(2025, 4, 6), -1),
        (WELLINGTON, NEW_ZEALAND, dt.date(2025, 9, 28), 1),
    ],
)
def test_clock_changes_move_the_shown_time_and_not_the_sun(
    where: Place, zone: ZoneInfo, change: dt.date, hours: int
) -> None:
    """The clock face jumps by an hour from one sunrise to the next while the sun itself moves by under 3 minutes."""
    before = sun_day(where, change - dt.timedelta(days=1), zone).sunrise
    after = sun_day(where, change, zone).sunrise
    assert before is not None
    assert after is not None
    near = dt.timedelta(minutes=3)
    assert abs(after.astimezone(dt.UTC) - before.astimezone(dt.UTC) - dt.timedelta(days=1)) < near
    clock = after.replace(tzinfo=None) - before.replace(tzinfo=None)
    assert abs(clock - dt.timedelta(days=1, hours=hours)) < near


@given(
    latitude=st.floats(-90, 90),
    longitude=st.floats(-180, 180),
    date=st.dates(dt.date(1900, 1, 1), dt.date(2100, 12, 31)),
    zone=st.sampled_from(["UTC", "Europe/London", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Australia/Lord_Howe"]),
)
@settings(max_examples=200, deadline=None)
def test_no_place_date_or_zone_raises(latitude: float, longitude: float, date: dt.date, zone: str) -> None:
    """Any point, any date of two centuries, a zone that may lie on the other side of the earth: events in order."""
    day = sun_day(place(latitude, longitude), date, ZoneInfo(zone))
    daylight = [event.astimezone(dt.UTC) for event in (day.civil_dawn, day.sunrise) if event]
    assert daylight == sorted(daylight)
    if day.sunrise and abs(latitude) < 65:
        noon = dt.datetime.combine(date, dt.time(12), tzinfo=ZoneInfo(zone)).astimezone(dt.UTC)
        assert day.sunset is not None
        middle = day.sunrise + (day.sunset.astimezone(dt.UTC) - day.sunrise.astimezone(dt.UTC)) / 2
        assert abs(middle.astimezone(dt.UTC) - noon) < dt.timedelta(hours=12, minutes=5)
