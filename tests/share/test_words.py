"""Rounding is always to the safe side, and what is shown adds up."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.share.wording import words

LONDON = ZoneInfo("Europe/London")
DAY = dt.date(2024, 12, 18)
MINUTE = dt.timedelta(minutes=1)


def moment(clock: str) -> dt.datetime:
    return dt.datetime.combine(DAY, dt.time.fromisoformat(clock), LONDON)


@pytest.mark.parametrize(
    ("seconds", "shown"), [(0, "0 min"), (1, "1 min"), (2400, "40 min"), (3600, "1 h 00"), (3900, "1 h 05")]
)
def test_durations_are_rounded_up(seconds: int, shown: str) -> None:
    assert words.duration(seconds) == shown


def test_a_negative_duration_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be"):
        words.duration(-60)


def test_a_mile_is_1609_344_metres() -> None:
    # Source: international yard and pound agreement of 1959.
    assert words.distance(16_093, "miles") == "10.0 miles"
    assert words.distance(16_093, "km") == "16.1 km"


def test_loads_are_rounded_up_and_limits_down() -> None:
    assert words.on_board(182.54, "kg") == "182.6 kg"
    assert words.on_board(0.1 + 0.2, "kg") == "0.3 kg"  # 0.30000000000000004 is no more than 0.3
    assert words.limit(649.99, "kg") == "649.9 kg"


def test_amounts_have_a_singular() -> None:
    assert words.amount_words(1, "pieces") == "1 piece"
    assert words.amount_words(40, "pieces") == "40 pieces"
    assert words.amount_words(12.5, "kg") == "12.5 kg"
    assert words.amount_words(700, "seconds") == "12 min"


def test_times_to_act_by_lose_their_seconds_and_times_reached_gain_a_minute() -> None:
    assert words.clock(words.minute_by(moment("07:37:59")), DAY, LONDON) == "07:37"
    assert words.clock(words.minute_reached(moment("07:37:01")), DAY, LONDON) == "07:38"
    assert words.clock(words.minute_reached(moment("07:37:00")), DAY, LONDON) == "07:37"


def test_light_left_is_the_difference_of_the_two_times_shown() -> None:
    # 14:28:10 is shown as 14:29, 15:40:40 as 15:40: 71 minutes, where the truth is 72.5.
    assert words.light_left(moment("14:28:10"), moment("15:40:40")) == "1 h 11 of light left"


def test_a_finish_in_the_last_minute_is_not_shown_after_the_end() -> None:
    finish = words.minute_at_stop(moment("15:40:10"), moment("15:40:40"))
    assert words.clock(finish, DAY, LONDON) == "15:40"
    assert words.light_left(moment("15:40:10"), moment("15:40:40")) == "0 min of light left"


@given(st.lists(st.integers(0, 86_399), min_size=4, max_size=4).map(sorted))
def test_shown_times_keep_their_order_and_flatter_nothing(seconds: list[int]) -> None:
    arrive, start, finish, closes = (
        dt.datetime.combine(DAY, dt.time(), dt.UTC) + dt.timedelta(seconds=second) for second in seconds
    )
    shown = [words.minute_at_stop(time, closes) for time in (arrive, start, finish)]
    assert shown == sorted(shown)
    assert shown[-1] <= closes
    left = words.light_left_minutes(finish, closes)
    assert left * 60 <= (closes - finish).total_seconds()
    assert shown[-1] + left * MINUTE == max(words.minute_by(closes), shown[-1])


def test_the_next_day_is_marked() -> None:
    late = dt.datetime(2024, 12, 19, 0, 12, tzinfo=LONDON)
    assert words.clock(late, DAY, LONDON) == "00:12 +1"


def test_times_are_shown_in_the_farms_zone_whatever_zone_they_came_in() -> None:
    summer = dt.datetime(2025, 6, 20, 5, 0, tzinfo=dt.UTC)
    assert words.clock(summer, dt.date(2025, 6, 20), LONDON) == "06:00"


def test_the_hour_that_comes_twice_is_told_apart() -> None:
    # Clocks go back at 01:00 UTC on the last Sunday of October. Source: the Summer Time Order 2002.
    first = dt.datetime(2025, 10, 26, 0, 30, tzinfo=dt.UTC)
    second = dt.datetime(2025, 10, 26, 1, 30, tzinfo=dt.UTC)
    day = dt.date(2025, 10, 26)
    assert words.clock(first, day, LONDON) == "01:30 BST"
    assert words.clock(second, day, LONDON) == "01:30 GMT"


def test_dates_are_in_words() -> None:
    assert words.date_words(DAY) == "Wednesday 18 December 2024"


def test_a_whole_minute_in_the_hour_that_comes_twice_stays_as_it_is() -> None:
    second_pass = dt.datetime(2025, 10, 26, 1, 30, tzinfo=LONDON, fold=1)
    assert words.minute_reached(second_pass) == dt.datetime(2025, 10, 26, 1, 30, tzinfo=dt.UTC)
