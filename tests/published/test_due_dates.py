"""Due dates against printed beekeepers' calendars: each falls where its source says the work belongs.

The farm lies in England, at 52 N. Dates are those that the product reckons from its log, in the year 2026 to 2027.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing.farm.models import Farm
from routing.season.due import Asked, open_due
from routing.season.entries import Entry, Record
from tests.season.small_farm import day, done, make_farm

CALENDAR = [
    # First full inspection on 10 April 2015: The Apiarist; first or second week of April: thehiveguys.com.
    ("first-inspection", "2026-04-01", "2026-04-15"),
    # A full disease inspection in April: Bee Craft, For beginners, April 2018.
    ("spring-disease", "2026-04-01", "2026-04-30"),
    # "Two full brood frames' worth" by the June gap: Bee Craft, reminder of 14 June 2017.
    ("june-gap", "2026-06-01", "2026-06-14"),
    # Winter preparation, after the last crop, from early to mid August: National Bee Unit, winter sheet.
    ("clearer-boards", "2026-08-01", "2026-08-15"),
    # Main treatment in August after the harvest: the same.
    ("strips-in", "2026-08-01", "2026-08-31"),
    # Which colonies to unite: Bee Craft, reminder of 12 September 2018.
    ("winter-strength", "2026-09-12", "2026-09-30"),
    # Mouse guards: reminders of 10 and 11 October, Bee Craft 2018 and 2017; by late October, Moy Valley BKA 2018.
    ("mouse-guards", "2026-10-10", "2026-10-31"),
    # Oxalic acid from late November to January: APHA, quoted at beekeepingforum.co.uk 33014.
    ("oxalic", "2026-11-21", "2027-01-31"),
    # Mouse guards off in March: Blackpool & Fylde BKA.
    ("guards-off", "2026-03-01", "2026-03-31"),
]
"""Rule, and the first and last day of its printed time."""
BEGIN = done("cote", "unite", "2026-03-01")
"""The log begins when the last winter's seasons are over."""


@pytest.fixture
def farm(tmp_path: Path) -> Farm:
    return make_farm(tmp_path)


def due_on(farm: Farm, rule: str, entries: tuple[Entry, ...], on: str) -> dt.date:
    """Return the day by which a rule's work at Ash Bank is due."""
    asked = Asked(farm, Record(entries=entries), day(on))
    found = open_due(asked.season.due[rule], farm.site("ash"), asked)
    assert found is not None
    assert found.opens <= found.due
    return found.due


def assert_within(found: dt.date, first: str, last: str) -> None:
    assert day(first) <= found <= day(last)


@pytest.mark.parametrize(("rule", "first", "last"), CALENDAR, ids=[row[0] for row in CALENDAR])
def test_each_due_date_falls_within_its_printed_time(farm: Farm, rule: str, first: str, last: str) -> None:
    assert_within(due_on(farm, rule, (BEGIN,), "2026-03-01"), first, last)


@pytest.mark.parametrize("days", [-45, 45])
@pytest.mark.parametrize(("rule", "first", "last"), CALENDAR, ids=[row[0] for row in CALENDAR])
def test_a_due_date_six_weeks_off_is_noticed(farm: Farm, rule: str, first: str, last: str, days: int) -> None:
    """The windows are narrow enough: early or late by half a quarter, each check fails."""
    if rule == "oxalic":
        days *= 2  # its printed time is ten weeks long
    found = due_on(farm, rule, (BEGIN,), "2026-03-01")
    with pytest.raises(AssertionError):
        assert_within(found + dt.timedelta(days=days), first, last)


def test_weekly_inspections_see_every_queen_cell_open(farm: Farm) -> None:
    """Egg to sealed cell about 8 days: the next inspection is due before. Source: Bee Craft, November 2009."""
    due = due_on(farm, "weekly-inspection", (done("ash", "weekly-inspection", "2026-05-10"),), "2026-05-11")
    assert due - day("2026-05-10") < dt.timedelta(days=8)


@pytest.mark.parametrize(
    ("kind", "rule", "least_weeks", "most_weeks"),
    [("strips-in", "strips-out", 6, 8), ("flumethrin-strips-in", "flumethrin-strips-out", 5, 6)],
)
def test_strips_come_out_within_the_weeks_of_their_label(
    farm: Farm, kind: str, rule: str, least_weeks: int, most_weeks: int
) -> None:
    """Tau-fluvalinate 6 to 8 weeks: product characteristics, Veterinary Medicines Directorate AN 00674/2014.

    Flumethrin six weeks at the most: data sheet, NOAH Compendium, 2006; its five weeks are ours, to leave a week's room.
    """
    asked = Asked(farm, Record(entries=(done("ash", kind, "2026-08-10"),)), day("2026-08-11"))
    found = open_due(asked.season.due[rule], farm.site("ash"), asked)
    assert found is not None
    assert found.opens == day("2026-08-10") + dt.timedelta(weeks=least_weeks)
    assert found.due == day("2026-08-10") + dt.timedelta(weeks=most_weeks)


def test_syrup_is_over_by_the_end_of_september(farm: Farm) -> None:
    """Sealed before the cluster forms: Somerset BKA, somersetbeekeepers.org.uk/winterprepare.html."""
    entries = (done("ash", "heft", "2026-08-20", stores_kg=8),)
    asked = Asked(farm, Record(entries=entries), day("2026-08-21"))
    found = open_due(asked.season.due["autumn-feed"], farm.site("ash"), asked)
    assert found is not None
    assert found.ends == day("2026-09-30")


@pytest.mark.parametrize(("stores_kg", "hungry"), [(20, True), (25, False)])
def test_the_autumn_level_lies_between_the_published_20_and_25_kg(
    farm: Farm, stores_kg: float, *, hungry: bool
) -> None:
    """A site whose colonies hold 20 kg on average has some far below, and is fed; one with 25 kg in mid-September is not.

    Source: 20 kg in a single brood box, 25 on brood and a half, BBKA News, Aug 2013; about 25 kg, National Bee Unit.
    """
    entries = (done("ash", "heft", "2026-09-26", stores_kg=stores_kg),)
    asked = Asked(farm, Record(entries=entries), day("2026-09-27"))
    found = open_due(asked.season.due["autumn-feed"], farm.site("ash"), asked)
    assert (found is not None and found.due <= day("2026-09-30")) == hungry


def test_varroa_is_counted_four_times_a_year(farm: Farm) -> None:
    """Managing Varroa, as quoted at beekeepingforum.co.uk 31441; the boards are read after 3 to 5 days: Bee Craft."""
    rules = [
        rule for rule in Asked(farm, Record(), day("2026-01-01")).season.due.values() if rule.job == "varroa-boards"
    ]
    entries = (done("cote", "unite", "2026-01-01"),)
    dues = sorted(due_on(farm, rule.id, entries, "2026-01-01") for rule in rules)
    assert len(dues) == 4
    assert {due.year for due in dues} == {2026}
    count = due_on(farm, "varroa-count", (done("ash", "varroa-boards", "2026-04-01"),), "2026-04-02")
    assert_within(count, "2026-04-04", "2026-04-06")
