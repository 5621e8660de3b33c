"""Reading a later calendar file into the same calendar moves what moved, strikes out what is gone, leaves the rest."""

import datetime as dt

import pytest
from ical.calendar_stream import IcsCalendarStream
from ical.event import Event

from routing.round import Round
from routing.share.exports.ical import round_calendar
from tests.share.sample import alder, at, rowan, sample_round


def events(text: str) -> dict[str, Event]:
    return {event.uid: event for event in IcsCalendarStream.calendar_from_ics(text).events}


def with_days(*days: object) -> Round:
    return sample_round().model_copy(update={"itineraries": days})


def later() -> Round:
    """Return the sample with the last visit of the first crew ten minutes later."""
    day = alder()
    times = {"arrive": at("13:05:20"), "start": at("13:05:20"), "finish": at("14:38:10")}
    return with_days(day.model_copy(update={"stops": (*day.stops[:3], day.stops[3].model_copy(update=times))}), rowan())


def test_a_visit_is_known_again_by_farm_date_and_site_whoever_goes_and_whenever() -> None:
    first = events(round_calendar(sample_round()))
    swapped = events(round_calendar(with_days(rowan(), alder())))
    assert set(swapped) == set(first)
    assert set(events(round_calendar(later()))) == set(first)
    assert not set(events(round_calendar(sample_round(farm="Other Bees")))) & set(first)


def test_nothing_new_gives_the_same_bytes_over_the_old_file() -> None:
    text = round_calendar(sample_round())
    assert round_calendar(sample_round(), previous=text) == text


def test_only_what_changed_gets_the_next_sequence_and_a_later_stamp() -> None:
    """Source: RFC 5545, section 3.8.7.4 (sequence) and 3.8.7.2 (stamp)."""
    before = round_calendar(sample_round())
    old, new = events(before), events(round_calendar(later(), previous=before))
    changed = [uid for uid in new if new[uid].sequence != old[uid].sequence]
    assert [new[uid].summary for uid in changed] == ["A4 Hollow Farm: Feed fondant"]
    assert new[changed[0]].sequence == 1
    assert new[changed[0]].dtstamp == old[changed[0]].dtstamp + dt.timedelta(seconds=1)


def test_what_is_gone_is_struck_out_without_its_name_or_place_and_comes_back_with_a_higher_sequence() -> None:
    first = round_calendar(sample_round())
    second = round_calendar(with_days(alder()), previous=first)
    gone = [event for event in events(second).values() if event.status == "CANCELLED"]
    assert len(gone) == 2
    assert {event.sequence for event in gone} == {1}
    assert not {"Church Orchard", "Upper Dingle"} & set(second.replace("\r\n ", ""))
    assert "Church Orchard" not in second
    assert round_calendar(with_days(alder()), previous=second) == second
    third = events(round_calendar(sample_round(), previous=second))
    assert all(third[event.uid].sequence == 2 and third[event.uid].status is None for event in gone)


def test_other_dates_in_the_old_file_are_let_be() -> None:
    old = round_calendar(sample_round())
    text = round_calendar(sample_round(dates=(dt.date(2024, 12, 19),), itineraries=()), previous=old)
    assert events(text) == {}


@pytest.mark.parametrize(
    "previous",
    [
        "not a calendar",
        "BEGIN:VCALENDAR\r\nEND:VEVENT\r\n",
        "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:x\r\nDTSTART:never\r\nDTEND:never\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        "BEGIN:VEVENT\r\nUID:x\r\nEND:VEVENT\r\n",
        "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nSUMMARY:x\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        "\x00\ufeff\r\n\r\n::;;",
    ],
)
def test_an_old_file_that_is_no_calendar_of_ours_counts_as_none(previous: str) -> None:
    assert round_calendar(sample_round(), previous=previous) == round_calendar(sample_round())


@pytest.mark.parametrize("sequence", ["-4", "x", "99999999999"])
def test_a_broken_sequence_in_the_old_file_does_no_harm(sequence: str) -> None:
    previous = round_calendar(sample_round()).replace("SEQUENCE:0", f"SEQUENCE:{sequence}")
    assert all(
        event.sequence in {0, 86_399} for event in events(round_calendar(sample_round(), previous=previous)).values()
    )
