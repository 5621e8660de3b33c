"""What each sort of cell means, and what is said about one that means nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest

from routing.farm import values
from routing.farm.models import Hours
from routing.farm.unfit import UnfitError

CHRISTMAS_EVE = dt.date(2026, 12, 24)


@pytest.mark.parametrize(
    ("text", "value"), [("12", 12), ("12.5", 12.5), ("12,5", 12.5), (",5", 0.5), ("-1", -1), ("0,125", 0.125)]
)
def test_numbers_take_point_or_comma(text: str, value: float) -> None:
    """A decimal comma and a decimal point mean the same."""
    assert values.number(-10, 100)(text) == value


@pytest.mark.parametrize(("text", "value"), [("12", 12), ("12.0", 12), ("0", 0)])
def test_whole_numbers(text: str, value: int) -> None:
    """A whole number may be written as spreadsheets do, with a nought behind the point."""
    assert values.whole(0, 100)(text) == value


@pytest.mark.parametrize("text", ["2026-12-24", "24/12/2026"])
def test_dates_in_both_forms(text: str) -> None:
    """Year first with hyphens, or day first with slashes."""
    assert values.date(text) == CHRISTMAS_EVE


@pytest.mark.parametrize(
    ("text", "yes"),
    [("yes", True), ("Y", True), ("TRUE", True), ("1", True), ("no", False), ("False", False), ("0", False)],
)
def test_yes_and_no(text: str, yes: bool) -> None:  # noqa: FBT001
    """The usual words for yes and no, in any case."""
    assert values.yes_or_no(text) is yes


@pytest.mark.parametrize(
    ("text", "spans"),
    [
        ("08:00-17:00", [(8, 17)]),
        ("8:00 - 17:00", [(8, 17)]),
        ("13:00-17:00; 08:00-12:00", [(8, 12), (13, 17)]),
        ("08:00\N{EN DASH}12:00 12:00-17:00", [(8, 17)]),
    ],
)
def test_hours_in_order_and_joined(text: str, spans: list[tuple[int, int]]) -> None:
    """Spans are put in order, and spans that touch become one."""
    assert values.hours(text) == tuple(Hours(opens=dt.time(start), closes=dt.time(end)) for start, end in spans)


@pytest.mark.parametrize("text", ["Sun 2026-12-24", "sunday; 24/12/2026", "2026-12-24, Sundays"])
def test_closed_days(text: str) -> None:
    """Weekdays and dates may be mixed with any separator; Sunday is 6 as in datetime."""
    assert values.days(text) == values.DaysOff(frozenset({6}), frozenset({CHRISTMAS_EVE}))


@pytest.mark.parametrize(
    ("parse", "text", "reason"),
    [
        (values.number(0, 10), "12x", "is not a number"),
        (values.number(0, 10), "nan", "is not a number"),
        (values.number(0, 10), "1e400", "is not a number"),
        (values.number(0, 10), "11", "must be from 0 to 10"),
        (values.number(0, 5000), "1,200", "may be thousands or a decimal comma"),
        (values.whole(0, 10), "2.5", "is not a whole number"),
        (values.whole(0, 5000), "1,200", "may be thousands or a decimal comma"),
        (values.whole(0, 5000), "9" * 5000, "must be from 0 to 5,000"),
        (values.date, "2026-13-01", "is not a day of the calendar"),
        (values.date, "03/04/2026", "may be 2026-03-04 or 2026-04-03"),
        (values.date, "Christmas", "is not a date"),
        (values.date, "0206-12-24", "is not in the years 1990 to 2199"),
        (values.yes_or_no, "maybe", "is neither yes nor no"),
        (values.clock, "25:00", "write 00:00 to 23:59"),
        (values.clock, "noon", "write 07:30"),
        (values.hours, "08:00", "is not a span of hours"),
        (values.hours, "17:00-08:00", "closes at 08:00, which is not after 17:00"),
        (values.hours, "08:00-12:00 11:00-13:00", "has spans that overlap"),
        (values.days, "Sunbay", 'did you mean "sunday"?'),
        (values.days, "Su", "is not made of weekdays and dates"),
        (values.days, "2026-02-30", "has a part that is not a day of the calendar"),
        (values.identity, "a,b", "holds a comma"),
        (values.identity, "a" * 61, "is longer than 60 characters"),
        (values.identity, "a\nb", "holds a control character (U+000A)"),
        (values.text_up_to(200), "a\x1b[31mb", "holds a control character (U+001B)"),
        (values.text_up_to(200), "a\u202eb", "holds a control character (U+202E)"),
        (values.text_up_to(10, many_lines=True), "a\x00b", "holds a control character (U+0000)"),
    ],
)
def test_what_is_wrong(parse: Callable[[str], object], text: str, reason: str) -> None:
    """Each refusal says what is wrong in words that stand after the value."""
    with pytest.raises(UnfitError) as caught:
        parse(text)
    assert reason in str(caught.value)


def test_notes_may_have_lines() -> None:
    """A note keeps its lines and tabs; a name may not have them."""
    assert values.text_up_to(20, many_lines=True)("a\r\n\tb") == "a\r\n\tb"
