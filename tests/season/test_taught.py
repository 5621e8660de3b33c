"""What a winter's hefts teach of all sites: more use than was reckoned, and hefts that are rough; never less of either."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing.farm.models import Farm
from routing.season.asked import Asked
from routing.season.entries import Entry, Record
from routing.season.feed import Air, air_of
from routing.season.outlook import feed_outlook
from tests.season.small_farm import day, done, make_farm

FIRST = day("2026-10-01")
FORTNIGHT = dt.timedelta(days=14)
HEFTS = 6
LAST = FIRST + (HEFTS - 1) * FORTNIGHT


def hefted(farm: Farm, more_kg_a_day: float, off_kg: float = 0.0) -> tuple[Entry, ...]:
    """Return six hefts at each site, a fortnight apart, of colonies that use so much more; off by turns, up and down."""
    air, entries, kg = air_of(farm), [], 30.0
    for number in range(HEFTS):
        date = FIRST + number * FORTNIGHT
        for place, site in enumerate(farm.sites):
            error = off_kg * (1 if (number + place) % 2 else -1)
            entries.append(done(site.id, "heft", str(date), stores_kg=round(kg + error, 3)))
        kg -= sum(air.use_kg(date + dt.timedelta(days=n)) + more_kg_a_day for n in range(FORTNIGHT.days))
    return tuple(entries)


def taught(farm: Farm, entries: tuple[Entry, ...], on: dt.date = LAST) -> Air:
    return Asked(farm, Record(entries=entries), on).air


def test_use_above_what_was_reckoned_is_reckoned_with_from_then_on(tmp_path: Path) -> None:
    """0.03 kg a day more at all three sites for 70 days: most of it is believed, and feed is due days sooner for it."""
    farm = make_farm(tmp_path)
    greedy = hefted(farm, 0.03)
    air = taught(farm, greedy)
    january = day("2027-01-20")
    assert 0.015 < air.use_kg(january) - air_of(farm).use_kg(january) < 0.03
    feeds = {
        name: {feed.site: feed.low_on for feed in feed_outlook(Asked(farm, Record(entries=entries), LAST), 12)}
        for name, entries in (("taught", greedy), ("alone", greedy[-3:]))
    }
    for site in farm.sites:
        taught_on, alone_on = feeds["taught"][site.id], feeds["alone"][site.id]
        assert taught_on is not None
        assert alone_on is not None
        assert taught_on < alone_on


def test_use_below_what_was_reckoned_is_not_counted_on(tmp_path: Path) -> None:
    farm = make_farm(tmp_path)
    assert taught(farm, hefted(farm, -0.03)).use_kg(LAST) == air_of(farm).use_kg(LAST)


def test_feed_between_two_hefts_is_no_lesser_use(tmp_path: Path) -> None:
    """5 kg a colony after the third heft, which the later ones hold: as much more is believed as without."""
    farm = make_farm(tmp_path)
    entries = hefted(farm, 0.03)
    fed_on = FIRST + 2 * FORTNIGHT
    with_feed = [
        entry.model_copy(update={"stores_kg": (entry.stores_kg or 0) + 5}) if entry.date > fed_on else entry
        for entry in entries
    ]
    fed = [
        done(site.id, "fondant", str(fed_on), time="18:00", materials={"fondant": 5.0 * site.colonies})
        for site in farm.sites
    ]
    on = day("2027-01-20")
    assert taught(farm, (*with_feed, *fed)).use_kg(on) == pytest.approx(taught(farm, entries).use_kg(on))


def test_hefts_that_are_off_by_more_than_is_written_count_as_rough(tmp_path: Path) -> None:
    """Off by 2.5 kg up and down where 1 is written: taken for 1.5 or more; exact ones stay at what is written."""
    farm = make_farm(tmp_path)
    assert taught(farm, hefted(farm, 0.0, off_kg=2.5)).rules.heft_error_kg.value > 1.5
    assert taught(farm, hefted(farm, 0.0)).rules.heft_error_kg.value == 1.0


def test_one_robbed_site_does_not_teach_the_others(tmp_path: Path) -> None:
    """12 kg gone at one site within a fortnight: not a tenth of that use is believed of the rest."""
    farm = make_farm(tmp_path)
    robbed = tuple(
        entry.model_copy(update={"stores_kg": max(0.0, (entry.stores_kg or 0) - 12)})
        if entry.site == "ash" and entry.date > FIRST + 2 * FORTNIGHT
        else entry
        for entry in hefted(farm, 0.0)
    )
    assert taught(farm, robbed).use_kg(LAST) - air_of(farm).use_kg(LAST) < 0.1 * 12 / 42


def test_nothing_is_taught_by_a_single_heft_nor_by_last_winters(tmp_path: Path) -> None:
    farm = make_farm(tmp_path)
    entries, next_autumn = hefted(farm, 0.03), day("2027-10-15")
    assert taught(farm, entries[:3]).use_kg(LAST) == air_of(farm).use_kg(LAST)
    assert taught(farm, entries, next_autumn).use_kg(next_autumn) == air_of(farm).use_kg(next_autumn)
