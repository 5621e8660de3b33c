"""When work may be done: each rule of working light with its sum shown."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from routing.daylight.sun import SunDay, sun_day
from routing.daylight.windows import (
    Window,
    site_closed,
    site_windows,
    working_light,
)
from routing.farm.models import LightNeed, Place
from tests.daylight.builders import place, rules, site

LONDON = place(51.5074, -0.1278)
LERWICK = place(60.155, -1.145)
TROMSO = place(69.6492, 18.9553)
UK = ZoneInfo("Europe/London")
NORWAY = ZoneInfo("Europe/Oslo")
MIDWINTER = dt.date(2025, 12, 21)  # a Sunday
MIDSUMMER = dt.date(2025, 6, 21)
EVERY_NEED = tuple(LightNeed)


def at(text: str, zone: ZoneInfo = UK) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=zone)


def light(
    where: Place, date: dt.date, need: LightNeed, zone: ZoneInfo = UK, margin_minutes: float = 30
) -> Window | None:
    return working_light(where, date, zone, need, rules(margin_minutes=margin_minutes))


def seconds(window: Window) -> float:
    return (window.closes.astimezone(dt.UTC) - window.opens.astimezone(dt.UTC)).total_seconds()


def test_daylight_is_sunrise_and_sunset_drawn_in_by_the_margin() -> None:
    """London, 21 Dec 2025: 08:03:52.8 + 30 min = 08:33:52.8, up to 08:33:53; 15:53:30.5 - 30 min = 15:23:30.5, down."""
    assert light(LONDON, MIDWINTER, LightNeed.DAYLIGHT) == Window(at("2025-12-21T08:33:53"), at("2025-12-21T15:23:30"))


def test_a_wider_margin_takes_as_much_from_both_ends() -> None:
    """45 minutes in place of 30 take 15 more from the morning and 15 from the evening."""
    narrow = light(LONDON, MIDWINTER, LightNeed.DAYLIGHT, margin_minutes=30)
    wide = light(LONDON, MIDWINTER, LightNeed.DAYLIGHT, margin_minutes=45)
    assert narrow is not None
    assert wide is not None
    quarter = dt.timedelta(minutes=15)
    assert (wide.opens - narrow.opens, narrow.closes - wide.closes) == (quarter, quarter)


def test_a_margin_of_half_the_day_leaves_nothing() -> None:
    """The day is 7 h 49 min 37.6 s long: with 3 h 55 min off both ends no second is left, with 3 h 54 min 97 s."""
    assert light(LONDON, MIDWINTER, LightNeed.DAYLIGHT, margin_minutes=235) is None
    rest = light(LONDON, MIDWINTER, LightNeed.DAYLIGHT, margin_minutes=234)
    assert rest is not None
    assert seconds(rest) == 97


def test_twilight_is_civil_dawn_to_civil_dusk_without_margin() -> None:
    """London, 21 Dec 2025: 07:23:32.3 rounded up, 16:33:50.97 rounded down."""
    for margin in (0, 60):
        found = light(LONDON, MIDWINTER, LightNeed.TWILIGHT, margin_minutes=margin)
        assert found == Window(at("2025-12-21T07:23:33"), at("2025-12-21T16:33:50"))


def test_any_light_is_local_midnight_to_noon_of_the_next_day() -> None:
    assert light(LONDON, MIDWINTER, LightNeed.ANY) == Window(at("2025-12-21T00:00"), at("2025-12-22T12:00"))


def test_after_flying_stops_is_from_after_sunset_to_the_next_civil_dawn() -> None:
    """London, 21 Dec 2025: 15:53:30.5 + 45 min = 16:38:30.5, up to 16:38:31; next day's dawn is 07:24:03."""
    found = light(LONDON, MIDWINTER, LightNeed.AFTER_FLYING)
    tomorrow = sun_day(LONDON, dt.date(2025, 12, 22), UK).civil_dawn
    assert tomorrow is not None
    assert found == Window(at("2025-12-21T16:38:31"), tomorrow.replace(microsecond=0))


def test_after_flying_ends_at_sunrise_where_civil_twilight_lasts_all_night() -> None:
    """Trondheim in midsummer sets for a few hours and never gets darker than civil twilight."""
    trondheim = place(63.43, 10.4)
    today, tomorrow = (sun_day(trondheim, MIDSUMMER + dt.timedelta(days=days), NORWAY) for days in (0, 1))
    assert today.twilight_all_night
    assert today.sunset is not None
    assert tomorrow.sunrise is not None
    found = light(trondheim, MIDSUMMER, LightNeed.AFTER_FLYING, NORWAY)
    assert found is not None
    assert found.closes == tomorrow.sunrise.replace(microsecond=0)
    assert found.opens - today.sunset - dt.timedelta(minutes=45) < dt.timedelta(seconds=1)


def test_polar_day_is_light_all_day_and_bees_never_stop() -> None:
    """Tromso, 21 June: the whole local day for daylight and twilight, no time after flying."""
    whole = Window(at("2025-06-21T00:00", NORWAY), at("2025-06-22T00:00", NORWAY))
    assert light(TROMSO, MIDSUMMER, LightNeed.DAYLIGHT, NORWAY) == whole
    assert light(TROMSO, MIDSUMMER, LightNeed.TWILIGHT, NORWAY) == whole
    assert light(TROMSO, MIDSUMMER, LightNeed.AFTER_FLYING, NORWAY) is None


def test_polar_night_has_no_daylight_but_twilight_and_no_flying() -> None:
    """Tromso, 21 December: dawn 09:31:24.6 up, dusk 13:53:15.5 down; no bee flies, so any hour is after flying."""
    assert light(TROMSO, MIDWINTER, LightNeed.DAYLIGHT, NORWAY) is None
    assert light(TROMSO, MIDWINTER, LightNeed.TWILIGHT, NORWAY) == Window(
        at("2025-12-21T09:31:25", NORWAY), at("2025-12-21T13:53:15", NORWAY)
    )
    assert light(TROMSO, MIDWINTER, LightNeed.AFTER_FLYING, NORWAY) == light(TROMSO, MIDWINTER, LightNeed.ANY, NORWAY)


def test_the_pole_in_winter_has_not_even_twilight() -> None:
    assert light(place(90, 0), MIDWINTER, LightNeed.TWILIGHT) is None


def test_the_day_that_begins_the_midnight_sun_stays_light_to_midnight() -> None:
    """A day with a sunrise and no sunset ends at local midnight; one with only a sunset begins there."""
    dates = [dt.date(2025, 5, 1) + dt.timedelta(days=days) for days in range(100)]
    days = [sun_day(TROMSO, date, NORWAY) for date in dates]
    first = next(day for day in days if day.sunrise and not day.sunset)
    last = next(day for day in days if day.sunset and not day.sunrise)
    begins = light(TROMSO, first.date, LightNeed.DAYLIGHT, NORWAY)
    ends = light(TROMSO, last.date, LightNeed.DAYLIGHT, NORWAY)
    assert begins is not None
    assert ends is not None
    assert begins.closes == dt.datetime.combine(first.date + dt.timedelta(days=1), dt.time(), tzinfo=NORWAY)
    assert ends.opens == dt.datetime.combine(last.date, dt.time(), tzinfo=NORWAY)


@pytest.mark.parametrize(
    ("date", "hours"), [(dt.date(2025, 3, 30), 35), (dt.date(2025, 10, 26), 37), (dt.date(2025, 6, 1), 36)]
)
def test_a_day_of_the_clock_change_is_as_long_as_it_is(date: dt.date, hours: int) -> None:
    """Midnight to noon of the next day is 24 + 12 hours, one less in spring and one more in autumn."""
    found = light(LONDON, date, LightNeed.ANY)
    assert found is not None
    assert seconds(found) == hours * 3600


def rounds_inwards(window: Window, day: SunDay) -> bool:
    """Whether a twilight window lies inside dawn and dusk, by less than a second at each end."""
    dawn, dusk = day.civil_dawn, day.civil_dusk
    one = dt.timedelta(seconds=1)
    return bool(
        dawn and dusk and dt.timedelta() <= window.opens - dawn < one and dt.timedelta() <= dusk - window.closes < one
    )


@pytest.mark.parametrize(
    ("where", "zone"),
    [
        (LONDON, UK),
        (LERWICK, UK),
        (TROMSO, NORWAY),
        (place(-41.2865, 174.7762), ZoneInfo("Pacific/Auckland")),
        (place(90, 0), UK),
        (place(-90, 0), UK),
    ],
)
def test_windows_of_a_whole_year_keep_their_promise(where: Place, zone: ZoneInfo) -> None:
    """On every day and for every need: whole seconds, opening before closing, daylight inside twilight inside any."""
    for number in range(365):
        date = dt.date(2025, 1, 1) + dt.timedelta(days=number)
        found = {need: light(where, date, need, zone) for need in EVERY_NEED}
        for window in filter(None, found.values()):
            assert window.opens.microsecond == window.closes.microsecond == 0
            assert window.opens.tzinfo is window.closes.tzinfo is zone
            assert seconds(window) > 0
        day, twilight = found[LightNeed.DAYLIGHT], found[LightNeed.TWILIGHT]
        if day:
            assert twilight is not None
            assert twilight.opens.astimezone(dt.UTC) <= day.opens.astimezone(dt.UTC)
            assert day.closes.astimezone(dt.UTC) <= twilight.closes.astimezone(dt.UTC)
        sun = sun_day(where, date, zone)
        if twilight and sun.civil_dawn and sun.civil_dusk:
            assert rounds_inwards(twilight, sun)


def test_a_site_without_hours_is_open_as_long_as_there_is_light() -> None:
    expected = light(LONDON, MIDWINTER, LightNeed.DAYLIGHT)
    assert site_windows(site(LONDON), MIDWINTER, UK, [LightNeed.DAYLIGHT], rules()) == (expected,)


def test_no_need_at_all_counts_as_any() -> None:
    assert site_windows(site(LONDON), MIDWINTER, UK, [], rules()) == (light(LONDON, MIDWINTER, LightNeed.ANY),)


def test_needs_together_leave_what_serves_them_all() -> None:
    """Daylight within twilight within any: the daylight."""
    needs = [LightNeed.ANY, LightNeed.TWILIGHT, LightNeed.DAYLIGHT, LightNeed.DAYLIGHT]
    assert site_windows(site(LONDON), MIDWINTER, UK, needs, rules()) == (light(LONDON, MIDWINTER, LightNeed.DAYLIGHT),)


def test_twilight_after_flying_is_from_flying_stops_to_dusk() -> None:
    """With 20 minutes: 15:53:30.5 + 20 min = 16:13:30.5, up to 16:13:31, to dusk at 16:33:50."""
    needs = [LightNeed.TWILIGHT, LightNeed.AFTER_FLYING]
    found = site_windows(site(LONDON), MIDWINTER, UK, needs, rules(flying_stops_minutes=20))
    assert found == (Window(at("2025-12-21T16:13:31"), at("2025-12-21T16:33:50")),)


def test_opening_hours_cut_the_light_into_spans() -> None:
    """Light 08:33:53-15:23:30 with hours 08:00-10:00, 12:00-13:30, 15:00-17:00 and 18:00-19:00: three spans are left."""
    open_site = site(LONDON, hours=(("08:00", "10:00"), ("12:00", "13:30"), ("15:00", "17:00"), ("18:00", "19:00")))
    assert site_windows(open_site, MIDWINTER, UK, [LightNeed.DAYLIGHT], rules()) == (
        Window(at("2025-12-21T08:33:53"), at("2025-12-21T10:00")),
        Window(at("2025-12-21T12:00"), at("2025-12-21T13:30")),
        Window(at("2025-12-21T15:00"), at("2025-12-21T15:23:30")),
    )


def test_hours_drop_what_lies_after_midnight() -> None:
    """A move after flying stops may run into the night, but not where the gate shuts at 22:00."""
    gated = site(LONDON, hours=(("06:00", "22:00"),))
    found = site_windows(gated, MIDWINTER, UK, [LightNeed.AFTER_FLYING], rules())
    assert found == (Window(at("2025-12-21T16:38:31"), at("2025-12-21T22:00")),)


def test_hours_hold_by_the_clock_on_a_day_of_the_clock_change() -> None:
    """26 Oct 2025: 00:30 is still summer time, 03:00 is not: 3 h 30 min between them."""
    early = site(LONDON, hours=(("00:30", "03:00"),))
    (found,) = site_windows(early, dt.date(2025, 10, 26), UK, [LightNeed.ANY], rules())
    assert (found.opens, found.closes) == (at("2025-10-26T00:30"), at("2025-10-26T03:00"))
    assert seconds(found) == 3.5 * 3600


def test_an_hour_that_the_clocks_skip_counts_as_if_they_had_not() -> None:
    """30 Mar 2025 has no 01:30: half an hour after the 01:00 at which the clocks go forward the face shows 02:30."""
    skipped = site(LONDON, hours=(("01:30", "03:00"),))
    found = site_windows(skipped, dt.date(2025, 3, 30), UK, [LightNeed.ANY], rules())
    assert found == (Window(at("2025-03-30T02:30"), at("2025-03-30T03:00")),)


def test_closed_days_have_no_window() -> None:
    """Closed on Sundays and on 22 December; open on the 23rd."""
    shut = site(LONDON, closed_weekdays=frozenset({6}), closed_dates=frozenset({dt.date(2025, 12, 22)}))
    answers = {}
    for day in (21, 22, 23):
        date = dt.date(2025, 12, day)
        found = site_windows(shut, date, UK, [LightNeed.DAYLIGHT], rules())
        answers[day] = (site_closed(shut, date), len(found))
    assert answers == {21: (True, 0), 22: (True, 0), 23: (False, 1)}


def test_no_window_where_it_is_dark_or_shut_in_the_light_or_light_is_never_right_for_all() -> None:
    """Open in the evening only; daylight and the time after flying together; a polar night."""
    evening = site(LONDON, hours=(("18:00", "20:00"),))
    both = [LightNeed.DAYLIGHT, LightNeed.AFTER_FLYING]
    assert site_windows(evening, MIDWINTER, UK, [LightNeed.DAYLIGHT], rules()) == ()
    assert site_windows(site(LONDON), MIDWINTER, UK, both, rules()) == ()
    assert site_windows(site(TROMSO), MIDWINTER, NORWAY, [LightNeed.DAYLIGHT], rules()) == ()
