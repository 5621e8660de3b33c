"""Exact numbers and instants: what is rounded, and which of two hours is meant."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest

from routing.check.exact import clock, decimals, exact, instant, local_instant, shows, whole_seconds

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("minutes", "seconds"),
    [
        (Fraction(1, 10), 6),
        (Fraction(1, 3), 20),
        (Fraction(0), 0),
        (Fraction(61, 60), 61),
        (Fraction(601, 600), 61),
        # less than half a millionth of a second over a minute is none, more is a second
        (1 + Fraction(4, 600_000_000), 60),
        (1 + Fraction(6, 600_000_000), 61),
    ],
)
def test_minutes_are_whole_seconds_rounded_up_but_for_a_millionth(minutes: Fraction, seconds: int) -> None:
    assert whole_seconds(minutes) == seconds


@pytest.mark.parametrize(
    ("shown", "value", "good"),
    [
        (1.234, Fraction(1234, 1000), True),
        # half a thousandth is rounded either way, a hair more is not
        (1.234, Fraction(12345, 10_000), True),
        (1.235, Fraction(12345, 10_000), True),
        (1.234, Fraction(1_234_501, 1_000_000), False),
        (1.235, Fraction(1_234_499, 1_000_000), False),
        # a fourth decimal is not shown
        (1.2345, Fraction(12345, 10_000), False),
        (float("inf"), Fraction(1), False),
        (float("nan"), Fraction(1), False),
        (-1.234, Fraction(-1234, 1000), True),
    ],
)
def test_an_amount_is_shown_to_three_decimals(shown: float, value: Fraction, *, good: bool) -> None:
    assert shows(shown, value) is good


def test_a_number_is_the_decimal_that_was_written() -> None:
    assert exact(0.1) == Fraction(1, 10)
    assert decimals(Fraction(25, 2)) == "12.500"


def test_instants_count_real_seconds_and_the_first_of_two_hours_in_autumn() -> None:
    """On 26 October 2025 London's clocks go from 1:59 summer time back to 1:00. Source: Summer Time Order 2002."""
    night = dt.date(2025, 10, 26)
    half_past_one = local_instant(night, dt.time(1, 30), LONDON)
    assert half_past_one == int(dt.datetime(2025, 10, 26, 0, 30, tzinfo=dt.UTC).timestamp())
    assert local_instant(night, dt.time(2), LONDON) - half_past_one == 90 * 60
    assert clock(half_past_one, LONDON) == clock(half_past_one + 3600, LONDON) == "2025-10-26 01:30:00"
    assert instant(dt.datetime(1970, 1, 1, 0, 0, 1, 999_999, tzinfo=dt.UTC)) == 1
