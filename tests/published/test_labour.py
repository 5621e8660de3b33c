"""The catalogue's minutes against published labour: how long one person takes to work all colonies once."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import pytest

from routing.daylight.windows import working_light
from routing.farm.kinds import load_catalogue
from routing.farm.models import LightNeed, Place

ROUND_OF_ALL_COLONIES = ("first-inspection", "weekly-inspection")
DRIVE_MINUTES = 20
"""From one site to the next: common practice, no source."""


def on_site_seconds(kinds: Sequence[str], hives: int, walking_minutes: float = 0) -> int:
    """Return what one person needs for these jobs in one visit.

    Walking both ways, the longest set-up once, and each job's minutes a hive; each rounded up to a whole second.
    """
    jobs = [load_catalogue().job_kinds[kind] for kind in kinds]
    parts = [
        60 * 2 * walking_minutes,
        60 * max(job.minutes_a_visit.value for job in jobs),
        *(60 * job.minutes_a_hive.value * hives for job in jobs),
    ]
    return sum(math.ceil(round(part, 6)) for part in parts)


def hours(kind: str, sites: int, hives_a_site: int) -> float:
    return sites * on_site_seconds([kind], hives_a_site) / 3600


def test_a_visit_of_two_jobs_has_one_set_up() -> None:
    """Ten hives, insulation 15 min + 2 a hive and heft 10 min + 3 a hive, 5 min to walk: 10 + 15 + 20 + 30 = 75 min.

    The figures are read from the catalogue, so that this holds as long as they stand as they are written here.
    """
    kinds = load_catalogue().job_kinds
    figures = [(kinds[kind].minutes_a_visit.value, kinds[kind].minutes_a_hive.value) for kind in ("insulation", "heft")]
    assert figures == [(15, 2), (10, 3)]
    assert on_site_seconds(["insulation", "heft"], 10, walking_minutes=5) == 75 * 60


@pytest.mark.parametrize(
    ("sites", "hives_a_site", "published_hours", "allowed"),
    [
        (1, 10, 3, 1.0),  # 15 + 10 x 10 = 115 min: 1.9 h
        (10, 25, 50, 1.0),  # 10 x (15 + 25 x 10) = 2650 min: 44.2 h
        (28, 25, 120, 1.04),  # 28 x (15 + 25 x 10) = 7420 min: 123.7 h
    ],
    ids=["10 colonies", "250 colonies", "700 colonies"],
)
@pytest.mark.parametrize("kind", ROUND_OF_ALL_COLONIES)
def test_an_inspection_of_all_colonies_takes_no_longer_than_published(
    kind: str, sites: int, hives_a_site: int, published_hours: float, allowed: float
) -> None:
    """Up to 3 h for 10 colonies, 50 h for 250 and 120 h for 700, and not under half of that: these are maxima.

    The catalogue's 10 minutes a hive are those of keepers of few hives, so at 700 colonies it comes out 3 % above the
    published most: on the safe side of a day's plan, and stated here as the margin that is allowed.
    Sites of 25 hives: commercial sites hold 20 to 50 (New Zealand, 2017, as read in a secondary page).
    Source: "Time Commitment of Beekeeping by Operation Size", undated handout, docslib.org/doc/5575782.
    """
    found = hours(kind, sites, hives_a_site)
    assert found <= allowed * published_hours
    assert found >= published_hours / 2


@pytest.mark.parametrize("colonies", [10, 250, 700])
def test_rounds_that_open_no_brood_nest_take_less_than_an_inspection(colonies: int) -> None:
    """Hefting, feeding and fitting are quicker than the published hours for working all colonies.

    Source: the same handout; up to 3, 50 and 120 h.
    """
    published_hours = {10: 3, 250: 50, 700: 120}[colonies]
    hives_a_site = min(colonies, 25)
    for kind in ("heft", "fondant", "syrup", "insulation", "mouse-guards", "storm-check", "supers-on"):
        assert hours(kind, colonies // hives_a_site, hives_a_site) < published_hours, kind


def days_needed(visits: int, visit_minutes: float, light_minutes: float) -> int:
    """Return the days for this many equal visits: n visits and n - 1 drives between them fit in one day's light."""
    a_day = int((light_minutes + DRIVE_MINUTES) // (visit_minutes + DRIVE_MINUTES))
    return math.ceil(visits / a_day)


@pytest.mark.parametrize("kinds", [("insulation", "heft"), ("insulation", "heft", "fondant")])
def test_one_person_insulates_and_feed_checks_seventy_colonies_in_a_few_winter_days(kinds: tuple[str, ...]) -> None:
    """Seven sites of 10 hives in the shortest days at 52 N, between sunrise and sunset less the margin: 2 to 4 days.

    Insulation and heft: 15 + 20 + 30 = 65 min a site; with fondant for every hive 85 min. The light is about 7 h: 5
    visits and 4 drives of 20 min take 405 min, 4 visits and 3 drives with fondant 400 min; so two days each.
    Common practice, no source: about 70 colonies in a few winter days.
    """
    where, zone = Place(latitude=52.0, longitude=-2.5), ZoneInfo("Europe/London")
    rules = load_catalogue().rules
    light = working_light(where, dt.date(2025, 12, 15), zone, LightNeed.DAYLIGHT, rules)
    assert light is not None
    light_minutes = (light.closes - light.opens).total_seconds() / 60
    assert 6.5 * 60 < light_minutes < 7.5 * 60
    assert 2 <= days_needed(7, on_site_seconds(kinds, 10) / 60, light_minutes) <= 4
