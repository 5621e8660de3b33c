"""The calendar: two independent readers accept it, and what both of them miss is looked at by hand."""

import datetime as dt
import re
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject
from ical.calendar_stream import IcsCalendarStream
from ical.event import Event

from routing.round import Round
from routing.share.exports.ical import round_calendar
from routing.share.exports.ical_zone import zone_component
from tests.share.hostile import broken_round, rounds
from tests.share.sample import ZONE, itinerary, sample_round, stop

ZONES_READ: dict[str, object] = vars(vobject.icalendar)["__tzidMap"]
"""What vobject keeps of every zone that it has read, for as long as the program runs."""


@pytest.fixture(autouse=True)
def no_zone_of_another_file() -> None:
    """Have each file read by its own zone: that of a file for another year does not know this one's hours."""
    ZONES_READ.clear()


def events(text: str) -> list[Event]:
    return list(IcsCalendarStream.calendar_from_ics(text).events)


def lines(text: str) -> list[str]:
    """Return the logical lines: folds taken out. Source: RFC 5545, section 3.1."""
    return text.replace("\r\n ", "").split("\r\n")[:-1]


ALL_ROUNDS = [
    sample_round(),
    sample_round(itineraries=(), left_out=()),
    broken_round(),
    *(each for _, each, _ in rounds()),
]


@pytest.mark.parametrize("round_", ALL_ROUNDS)
def test_two_readers_accept_it(round_: Round) -> None:
    text = round_calendar(round_)
    read: Any = vobject.readOne(text)
    read.validate(raiseException=True)
    assert len(events(text)) == sum(len(day.stops) for day in round_.itineraries)


@pytest.mark.parametrize("round_", ALL_ROUNDS)
def test_what_both_readers_miss(round_: Round) -> None:
    """Source: RFC 5545, sections 3.1 (CRLF, 75 octets, no control characters), 3.6 (VERSION), 3.6.1, 3.6.5, 3.8.2.2."""
    text = round_calendar(round_)
    content = text.encode()
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert content.count(b"\n") == content.count(b"\r") == content.count(b"\r\n")
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    for line in content.split(b"\r\n"):
        line.decode()  # no letter is cut in two by a fold
    assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text)
    assert lines(text).count("VERSION:2.0") == lines(text).count("CALSCALE:GREGORIAN") == 1
    named = {match[1] for match in re.finditer(r"^DT(?:START|END);TZID=([^:]+):", "\n".join(lines(text)), re.MULTILINE)}
    defined = {line.removeprefix("TZID:") for line in lines(text) if line.startswith("TZID:")}
    assert named == defined
    assert all(event.end > event.start for event in events(text))
    uids = [event.uid for event in events(text)]
    assert len(set(uids)) == len(uids)


def test_one_event_a_visit_with_its_time_place_and_jobs() -> None:
    found = events(round_calendar(sample_round()))
    assert [event.summary for event in found][:2] == [
        *("A1 Mill Bank: Feed fondant", "A2 Long Meadow: Feed fondant, Oxalic treatment")
    ]
    second = found[1]
    assert second.start == dt.datetime(2024, 12, 18, 9, 36, tzinfo=ZONE)
    assert second.end == dt.datetime(2024, 12, 18, 10, 21, tzinfo=ZONE)
    assert second.geo is not None
    assert (second.geo.lat, second.geo.lng) == (52.66, -2.78)
    assert second.location == "Long Meadow (52.66, -2.78)"
    assert second.description is not None
    assert "Take care: Respirator on." in second.description.splitlines()


def test_the_alarm_goes_off_ten_minutes_before_leaving_for_the_visit() -> None:
    """The first is left for at 07:37:20 from base, the second at 09:10:30 from the first: told as 07:37 and 09:10."""
    found = events(round_calendar(sample_round()))
    times = []
    for event in found[:2]:
        (alarm,) = event.alarm
        assert isinstance(alarm.trigger, dt.timedelta)
        times.append(f"{event.start + alarm.trigger:%H:%M}")
    assert times == ["07:27", "09:00"]
    assert found[0].alarm[0].description == "In 10 minutes leave The Yard for Mill Bank"


@pytest.mark.parametrize(
    ("zone", "date"),
    [
        ("Europe/London", dt.date(2024, 7, 1)),
        ("Europe/Dublin", dt.date(2024, 7, 1)),
        ("America/New_York", dt.date(2024, 3, 10)),
        ("Pacific/Auckland", dt.date(2024, 12, 31)),
        ("Asia/Kolkata", dt.date(2024, 5, 5)),
        ("Africa/Casablanca", dt.date(2024, 3, 20)),
        ("Australia/Lord_Howe", dt.date(2024, 4, 7)),
        ("UTC", dt.date(2024, 5, 5)),
    ],
)
def test_a_reader_that_trusts_the_file_alone_finds_the_same_instants(zone: str, date: dt.date) -> None:
    """The reader vobject takes local times by the file's own VTIMEZONE."""
    day = in_zone(zone, date, "08:25:00", "11:00:00")
    text = round_calendar(sample_round(time_zone=zone, dates=(date,), itineraries=(day,)))
    found: Any = vobject.readOne(text).vevent
    assert found.dtstart.value == dt.datetime.combine(date, dt.time(8, 25), ZoneInfo(zone))
    assert found.dtend.value == dt.datetime.combine(date, dt.time(11), ZoneInfo(zone))


def in_zone(zone: str, date: dt.date, start: str, finish: str, fold: int = 0) -> Any:
    def at(clock: str) -> dt.datetime:
        return dt.datetime.combine(date, dt.time.fromisoformat(clock), ZoneInfo(zone)).replace(fold=fold)

    one = stop(1, "Mill", (52.0, -2.0), ("08:25:00", "08:25:00", "11:00:00"))
    times = {"arrive": at(start), "start": at(start), "finish": at(finish), "window_closes": at(finish)}
    day = itinerary("Alder", 2, (one.model_copy(update=times),), "14:58:10")
    return day.model_copy(update={"date": date, "leave": at(start) - dt.timedelta(hours=1)})


def test_the_second_pass_of_an_hour_that_comes_twice_is_told_in_utc() -> None:
    """Source: RFC 5545, section 3.3.5. Clocks go back in London at 01:00 UTC on 27 October 2024 (tz database)."""
    date = dt.date(2024, 10, 27)
    day = in_zone("Europe/London", date, "01:10:00", "01:40:00", fold=1)
    text = round_calendar(sample_round(dates=(date,), itineraries=(day,)))
    assert "DTSTART:20241027T011000Z" in lines(text)
    assert "DTEND:20241027T014000Z" in lines(text)


@pytest.mark.parametrize(
    "zone", ["Europe/London", "Africa/Casablanca", "America/St_Johns", "Asia/Tehran", "Pacific/Apia"]
)
@pytest.mark.parametrize("year", [2011, 2024])
def test_every_hour_of_a_year_is_read_alike_by_the_file_and_by_the_zone(zone: str, year: int) -> None:
    """Apia skipped the last but one day of 2011; hours that come twice or not at all are left out."""
    component = zone_component(zone, dt.date(year, 1, 1), dt.date(year, 12, 31))
    read: Any = vobject.base.readOne("BEGIN:VCALENDAR\r\n" + component.to_ical().decode() + "END:VCALENDAR\r\n")
    by_file, by_zone = read.vtimezone.tzinfo, ZoneInfo(zone)
    start = dt.datetime(year, 1, 1)  # noqa: DTZ001 -- what the hour is called, before any zone is asked
    hours = [start + dt.timedelta(hours=hour) for hour in range(365 * 24)]
    plain = [hour for hour in hours if _once(hour, by_zone)]
    assert len(plain) > 8700
    assert [hour for hour in plain if by_file.utcoffset(hour) != hour.replace(tzinfo=by_zone).utcoffset()] == []


def _once(hour: dt.datetime, zone: ZoneInfo) -> bool:
    return hour.replace(tzinfo=zone, fold=0).utcoffset() == hour.replace(tzinfo=zone, fold=1).utcoffset()


@pytest.mark.parametrize(("_name", "round_", "seen"), rounds())
def test_hostile_text_adds_no_line_and_stays_readable(_name: str, round_: Round, seen: str) -> None:
    def names(text: str) -> list[str]:
        return [re.split("[;:]", line)[0] for line in lines(text)]

    text = round_calendar(round_)
    assert names(text) == names(round_calendar(sample_round()))
    first = events(text)[0]
    assert first.description is not None
    assert seen in first.description or seen in (first.summary or "")


def test_private_lines_come_only_when_given() -> None:
    assert "4471" not in round_calendar(sample_round())
    assert "Gate code: 4471" in round_calendar(sample_round(), {"mill bank": ("Gate code: 4471",)})


def test_the_same_round_gives_the_same_bytes() -> None:
    assert round_calendar(sample_round()) == round_calendar(sample_round())
