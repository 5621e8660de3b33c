"""What people and spreadsheets write for dates, hours, numbers, yes and no, read by the ways of a country."""

from __future__ import annotations

import datetime as dt

import pytest

from routing.farm.unfit import DoubtfulError, UnfitError
from routing.farm.values import days_by, hours, number, whole, yes_or_no
from routing.farm.ways import ANY, ways_of
from routing.farm.written_forms import Exact, date_written, number_written

TENTH = dt.date(2026, 12, 10)
BRITAIN, GERMANY, STATES = (ways_of(zone) for zone in ("Europe/London", "Europe/Berlin", "America/New_York"))


@pytest.mark.parametrize(
    "text",
    [
        *("2026-12-10", "2026/12/10", "10.12.2026", "10.12.26", "10/12/2026", "10-12-2026", "10/12/26"),
        *("10/12/2026 00:00", "2026-12-10T00:00:00", "2026-12-10 08:30", "10.12.2026 8.00", "10/12/2026 12:00:00 AM"),
        *("10-Dec-26", "10 December 2026", "Thu 10 Dec 2026", "Dec 10, 2026", "10th Dec 2026".replace("th", ".")),
        *("10\u00a0Dec\u00a02026", "10\u201312\u20132026", " 2026-12-10 "),
    ],
)
def test_common_forms_of_a_date_where_the_day_comes_first(text: str) -> None:
    assert date_written(text, BRITAIN) == TENTH


@pytest.mark.parametrize("text", ["10-Dez-26", "10. Dezember 2026", "Do., 10.12.2026", "10. Dez. 2026", "10 Dec 2026"])
def test_months_by_their_names_in_the_language_of_the_country(text: str) -> None:
    assert date_written(text, GERMANY) == TENTH


def test_the_country_says_whether_the_day_or_the_month_comes_first() -> None:
    """3 April in Britain and Germany, 4 March in the United States."""
    assert date_written("03/04/2026", BRITAIN) == date_written("03/04/2026", GERMANY) == dt.date(2026, 4, 3)
    assert date_written("03/04/2026", STATES) == dt.date(2026, 3, 4)


@pytest.mark.parametrize("zone", ["UTC", "America/Toronto", "Africa/Johannesburg"])
def test_a_date_that_may_be_two_days_is_asked_about_by_both(zone: str) -> None:
    """No country, and countries whose languages write the year first: 3 April or 4 March; where it can be one, it is."""
    ways = ways_of(zone)
    with pytest.raises(DoubtfulError, match="may be 2026-03-04 or 2026-04-03: write the one that is meant"):
        date_written("03/04/2026", ways)
    assert date_written("31/12/2026", ways) == date_written("12/31/2026", ways) == dt.date(2026, 12, 31)
    assert date_written("05/05/2026", ways) == dt.date(2026, 5, 5)


def test_points_are_a_way_of_writing_the_day_first_but_not_where_the_month_comes_first() -> None:
    assert date_written("10.12.2026", ANY) == TENTH
    with pytest.raises(DoubtfulError, match="2026-10-12 or 2026-12-10"):
        date_written("10.12.2026", STATES)


@pytest.mark.parametrize(
    "text", ["12/31/2026", "31.02.2026", "2026-13-01", "46000", "8-16", "Decem", "10 Brumaire 2026", ""]
)
def test_what_is_no_date_is_refused(text: str) -> None:
    with pytest.raises(UnfitError):
        date_written(text, BRITAIN)


def test_a_date_cell_that_was_made_a_number_is_told_as_that() -> None:
    with pytest.raises(UnfitError, match="format the cell as a date"):
        date_written(Exact("46366"), BRITAIN)


@pytest.mark.parametrize(
    "text",
    [
        *("08:00-16:00", "8.00-16.00", "8-16", "8:00 \u2013 16:00", "8 am - 4 pm", "8h-16h", "8h00\u201416h00"),
        *("8 Uhr - 16 Uhr", "08:00:00-16:00:00", "08:00\u00a0-\u00a016:00", "8-12 12-16", "8-12; 12-16", "8-12, 12-16"),
    ],
)
def test_hours_as_they_are_written(text: str) -> None:
    (span,) = hours(text)
    assert (span.opens, span.closes) == (dt.time(8), dt.time(16))


@pytest.mark.parametrize("text", ["2026-08-16", "8", "25-26", "13 pm-14", "x-y"])
def test_what_are_no_hours_is_refused(text: str) -> None:
    with pytest.raises(UnfitError):
        hours(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        *(
            ("1.200,5", 1200.5),
            ("1,200.5", 1200.5),
            ("1 200,5", 1200.5),
            ("1\u00a0200", 1200),
            ("1\u202f200,5", 1200.5),
        ),
        *(("1'200", 1200), ("1\u2019200.5", 1200.5), ("1.200.300", 1200300), ("12 ", 12), ("12,5", 12.5), ("12.", 12)),
        *(("\u22125", -5), ("\u20135", -5), ("\uff0d5", -5), ("- 5", -5), ("0,125", 0.125)),
    ],
)
def test_numbers_as_they_are_written(text: str, value: float) -> None:
    assert number_written(text, GERMANY) == value


def test_thousands_or_decimals_are_asked_about() -> None:
    """1.200 is a number with decimals where points are, and may be thousands where commas are; a cell's own is neither."""
    assert number(0, 5000, BRITAIN)("1.200") == 1.2
    for text, ways in (("1,200", BRITAIN), ("1,200", GERMANY), ("1.200", GERMANY)):
        with pytest.raises(DoubtfulError, match="may be thousands"):
            whole(0, 5000, ways)(text)
    assert number(0, 5000, GERMANY)(Exact("1.234")) == 1.234


@pytest.mark.parametrize("text", ["1.2.3", "1,200,5", "--1", "1 2", "12x", "1e3", "\u0661"])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(UnfitError):
        number_written(text, GERMANY)


@pytest.mark.parametrize(
    "text", ["ja", "WAHR", "VRAI", "oui", "s\u00ed", "VERDADERO", "tak", "PRAWDA", "SANN", "TOSI", "\u2713"]
)
def test_yes_in_many_languages(text: str) -> None:
    assert yes_or_no(text) is True


@pytest.mark.parametrize(
    "text", ["nein", "FALSCH", "FAUX", "non", "FALSO", "nie", "FALSKT", "EP\u00c4TOSI", "nej", "\u2717"]
)
def test_no_in_many_languages(text: str) -> None:
    assert yes_or_no(text) is False


def test_no_word_is_both_yes_and_no() -> None:
    from routing.farm.truth_words import NO_WORDS, YES_WORDS  # noqa: PLC0415

    assert not set(YES_WORDS) & set(NO_WORDS)
    assert len(set(YES_WORDS)) + len(set(NO_WORDS)) > 80


def test_days_off_with_a_spreadsheets_time_behind() -> None:
    off = days_by(BRITAIN)("Sun 24/12/2026 00:00:00; 2026-12-25")
    assert off.weekdays == {6}
    assert off.dates == {dt.date(2026, 12, 24), dt.date(2026, 12, 25)}


@pytest.mark.parametrize(
    ("zone", "text", "weekdays"),
    [
        ("Europe/Berlin", "So", {6}),
        ("Europe/Berlin", "Mi., Donnerstag Sun", {2, 3, 6}),
        ("Europe/Paris", "dim. mercredi", {6, 2}),
        ("Europe/Stockholm", "l\u00f6r", {5}),
        ("Europe/London", "Sun Thurs", {6, 3}),
        ("", "Sat", {5}),
    ],
)
def test_weekdays_in_the_country_s_languages(zone: str, text: str, weekdays: set[int]) -> None:
    """English is read everywhere. The names come from memory, not from the data that the program reads."""
    assert days_by(ways_of(zone))(text).weekdays == weekdays


def test_a_weekday_of_another_country_is_refused() -> None:
    with pytest.raises(UnfitError, match="not made of weekdays and dates"):
        days_by(ways_of("Europe/London"))("So")
