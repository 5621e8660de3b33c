"""Stores carried forward against published figures."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest

from routing.farm.year import FeedRules, SeasonRules
from routing.farm.year_rules import default_year
from routing.season.calendar import Span
from routing.season.feed import Air, Reading, carried_forward
from routing.season.levels import level_on, levels, runs_low

DAY = dt.timedelta(days=1)
OCTOBER = dt.date(2026, 10, 1)
SEASON = Span(dt.date(2026, 8, 1), dt.date(2027, 4, 30))


@pytest.fixture
def year() -> SeasonRules:
    return default_year()


@pytest.fixture
def rules(year: SeasonRules) -> FeedRules:
    return year.feed


def cold(first: dt.date, days: int, mean_c: float) -> dict[dt.date, float]:
    return {first + n * DAY: mean_c for n in range(days)}


def use_kg(date: dt.date, rules: FeedRules, mean_c: float) -> float:
    return Air(rules, south=False, told={date: mean_c}).use_kg(date)


def test_a_broodless_winter_at_3_5_degrees_uses_what_was_measured(rules: FeedRules) -> None:
    """0.039 +/- 0.013 kg a day at a mean of 3.5 C, 32 colonies, south-west Sweden 2019-20.

    Source: Norrstroem et al., PLOS ONE 16(10) e0258398, 2021. Sixty days of December and January, no brood then:
    60 x 0.039 = 2.34 kg. A season that starts then spreads its colonies by a third of that, 0.78 kg, and no further.
    """
    first = dt.date(2026, 12, 1)
    air = Air(rules.model_copy(update={"spread_from": "12-01"}), south=False, told=cold(first, 60, 3.5))
    reading = Reading(first, 20.0, (), SEASON, between_kg=0.0, error_kg=0.0)
    days = carried_forward(reading, first + 60 * DAY, air)
    assert days[0].mean_kg - days[60].mean_kg == pytest.approx(60 * 0.039, abs=1e-9)
    assert days[60].between_kg == pytest.approx(60 * 0.013, rel=0.01)


def test_milder_air_uses_more_and_brood_more_again(rules: FeedRules) -> None:
    """Use rises with temperature: Norrstroem et al., 2021. A mild January about 0.5 kg a week: lincsbee blog, Jan 2014.

    Once brooding about 0.7 kg a week against 0.3 without: beginner-beekeeping.co.uk/winter-feeding.
    """
    january, march = dt.date(2027, 1, 15), dt.date(2027, 3, 15)
    rates = [use_kg(january, rules, float(mean)) for mean in range(-10, 16)]
    assert all(colder <= milder for colder, milder in pairwise(rates))
    assert 7 * use_kg(january, rules, 8.0) == pytest.approx(0.5, abs=0.01)
    assert 7 * use_kg(march, rules, 3.5) == pytest.approx(0.7, abs=0.05)
    assert 7 * use_kg(january, rules, 3.5) == pytest.approx(0.3, abs=0.05)


def test_25_kg_last_the_mean_colony_five_to_seven_months(rules: FeedRules) -> None:
    """About 25 kg last a full-size colony 5 to 6 months: National Bee Unit starvation alert (reprint Exeter BKA).

    From 1 September, before the year's last brood: the mean colony is down to the 5 kg that it should still have at the
    end of February (imker-dorfen.de, Feb 2021) between 1 February and 5 April.
    """
    reading = Reading(dt.date(2026, 9, 1), 25.0, (), SEASON, between_kg=0.0, error_kg=0.0)
    days = carried_forward(reading, SEASON.ends, Air(rules, south=False, told={}))
    low = next(day.date for day in days if day.mean_kg < 5.0)
    assert dt.date(2027, 2, 1) <= low <= dt.date(2027, 4, 5)


def test_the_autumn_level_leaves_the_mean_colony_20_to_25_kg_at_the_end_of_september(year: SeasonRules) -> None:
    """18 to 25 kg are published for the beginning of October: swhbk.org.uk, National Bee Unit.

    At the lightest that is not fed any more the weakest tenth of a site hefted on 29 September has 20 kg.
    """
    held, last = levels(SEASON, year, south=False), dt.date(2026, 9, 30)
    level = level_on(last, held)
    assert level is not None
    air = Air(year.feed, south=False, told={})
    between, error = year.feed.colony_spread_kg.value, year.feed.heft_error_kg.value
    fine = [
        kg
        for kg in (number / 10 for number in range(400))
        if not runs_low(carried_forward(Reading(last - DAY, kg, (), SEASON, between, error), last, air), held, last)
    ]
    assert 20 < fine[0] <= 25.5
    assert level.kg == 20


def weeks_of_emergency_feed(rules: FeedRules, first: dt.date, mean_c: float) -> float:
    """Return for how many weeks 2.5 kg a hive hold the mean colony above where it stood."""
    reading = Reading(first, 10.0, ((first, 2.5),), SEASON, between_kg=0.0, error_kg=0.0)
    told = {first + dt.timedelta(days=number): mean_c for number in range(150)}
    days = carried_forward(reading, SEASON.ends, Air(rules, south=False, told=told))
    back = next(day.date for day in days if day.date > first and day.mean_kg <= 10.0)
    return (back - first).days / 7


def test_an_emergency_feed_lasts_as_long_as_published_rates_say(rules: FeedRules) -> None:
    """2.5 kg a hive: National Bee Unit note, Mar 2013. 0.3 kg a week without brood: 8.3 weeks; 0.7 once brooding: 3.6.

    Source of the rates: beginner-beekeeping.co.uk/winter-feeding. The product's own rate without brood is from another,
    measured one (Norrstroem et al., 2021), so a tenth is allowed; told by whole days.
    """
    assert weeks_of_emergency_feed(rules, dt.date(2026, 12, 1), 3.5) == pytest.approx(2.5 / 0.3, rel=0.1)
    assert weeks_of_emergency_feed(rules, dt.date(2027, 3, 1), 3.5) == pytest.approx(2.5 / 0.7, rel=0.1)


@pytest.mark.parametrize(("kg_a_week", "weeks"), [(0.3, 8.33), (0.5, 5), (0.7, 3.57)])
def test_how_long_an_emergency_feed_lasts(rules: FeedRules, kg_a_week: float, weeks: float) -> None:
    """2.5 kg a hive (National Bee Unit note, Mar 2013) at 0.3, 0.5 and 0.7 kg a week: 8.33, 5 and 3.57 weeks."""
    flat = rules.model_copy(
        update={
            "use_kg_a_day": rules.use_kg_a_day.model_copy(update={"value": kg_a_week / 7}),
            "warmer_kg_a_day": rules.warmer_kg_a_day.model_copy(update={"value": 0.0}),
            "brood_share": (0.0,) * 12,
        }
    )
    reading = Reading(OCTOBER, 10.0, ((OCTOBER, 2.5),), SEASON, between_kg=0.0, error_kg=0.0)
    days = carried_forward(reading, SEASON.ends, Air(flat, south=False, told={}))
    back = next(day.date for day in days if day.date > OCTOBER and day.mean_kg <= 10.0)
    assert (back - OCTOBER).days == pytest.approx(weeks * 7, abs=1.1)  # told by whole days
