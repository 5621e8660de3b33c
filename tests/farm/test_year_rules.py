"""The rules of the year: the package's own, and a farm's over them."""

from __future__ import annotations

import pytest

from routing.farm.folder import read_farm
from routing.farm.models import Figure
from routing.farm.swarm import interval_warning
from routing.farm.year import DueRule, SeasonRules
from routing.farm.year_rules import default_year, spare_rules, swarm_days

from .conftest import FaultsOf, Write


def rules() -> SeasonRules:
    return default_year()


def test_every_rule_says_where_it_is_from_and_what_is_unsourced_says_so() -> None:
    season, spare = rules(), spare_rules()
    all_rules = (*season.due.values(), *spare.values())
    figures = [figure for holder in (*all_rules, season.feed) for _, figure in holder if isinstance(figure, Figure)]
    assert len(figures) > 15
    assert all(rule.source for rule in all_rules)
    for figure in figures:
        unsourced = any(word in figure.source for word in ("no source", "from memory", "judgement"))
        assert figure.source
        assert unsourced or figure.confidence != "M"


@pytest.mark.parametrize(
    ("queens", "days", "warned"),
    [
        *(("unclipped", days, False) for days in (5, 7)),
        *(("unclipped", days, True) for days in (8, 9, 14)),
        *(("clipped", days, False) for days in (7, 10)),
        *(("clipped", days, True) for days in (11, 13, 14)),
    ],
)
def test_an_interval_too_long_for_the_queens_is_warned_of(
    write: Write, farm_toml: str, queens: str, days: int, *, warned: bool
) -> None:
    """Egg to sealed cell about 8 days; clipped 5 + 8 = 13 in theory, 10 in practice: Bee Craft, November 2009.

    An egg laid just after a visit is sealed at day 8, so an interval of 8 days or more never sees it open.
    """
    more = f'[season]\nqueens = "{queens}"\n[due.weekly-inspection]\nevery_days = {days}\n'
    farm = read_farm(write(farm=farm_toml + more))
    assert [("days" in fault.what, fault.line > 0) for fault in farm.warnings] == [(True, True)] * warned
    assert farm.season is not None
    inspection = farm.season.due["weekly-inspection"].every_days
    assert inspection is not None
    assert (inspection.value, inspection.confidence) == (days, "farm")


def test_clipped_queens_are_inspected_every_ten_days_unless_the_farmer_says_otherwise(
    write: Write, farm_toml: str
) -> None:
    """10 in practice: Bee Craft, November 2009; weekly where they are not clipped."""
    found = {}
    for queens in ("clipped", "unclipped"):
        season = read_farm(write(farm=farm_toml + f'[season]\nqueens = "{queens}"\n')).season
        assert season is not None
        figure = season.due["weekly-inspection"].every_days
        found[queens] = figure and (figure.value, figure.confidence)
    assert found == {"clipped": (10, "V"), "unclipped": (7, "V")}


def test_the_words_differ_between_theory_and_practice() -> None:
    swarm = swarm_days()

    def said(days: float) -> str:
        figure = Figure(value=days, source="x", confidence="farm")
        rule = DueRule(id="x", job="weekly-inspection", source="x", every_days=figure)
        return interval_warning(rule, "clipped", swarm)

    assert "13 is theory, 10 practice" in said(12)
    assert "too long even for clipped queens" in said(14)


def test_a_farm_changes_adds_and_takes_away_rules(write: Write, farm_toml: str) -> None:
    more = (
        '[due.mouse-guards]\nby = "10-10"\n[due.heft]\nwanted = false\n'
        '[due.autumn-unite]\njob = "unite"\nstarts = "09-01"\nby = "09-20"\nends = "10-01"\nrank = "passing"\n'
        "[feed]\nmean_c = [5, 5, 6, 8, 11, 14, 16, 16, 13, 10, 7, 5]\n[feed.stores_kg_a_unit]\nfondant = 0.9\n"
    )
    season = read_farm(write(farm=farm_toml + more)).season
    assert season is not None
    before = rules()
    assert season.due["mouse-guards"] == before.due["mouse-guards"].model_copy(
        update={"by": "10-10", "source": "farm.toml"}
    )
    assert season.due.keys() == before.due.keys() - {"heft"} | {"autumn-unite"}
    assert (season.feed.mean_c[0], season.feed.stores_kg_a_unit["fondant"].value) == (5, 0.9)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ("[season]\nqueens = 3\n", "is neither clipped nor unclipped"),
        ('[season]\nfirst_frost = "25 October"\n', "is not a day of the year"),
        ('[season]\nlow_sites = ["two"]\n', 'low_sites names "two", which is not in sites.csv'),
        ('[due.new]\nby = "10-10"\n', "has no job"),
        ('[due.new]\njob = "hefd"\nby = "10-10"\n', 'did you mean "heft"?'),
        ('[due.new]\njob = "heft"\n', "exactly one of"),
        ('[due.heft]\nby = "10-10"\n', "and has 2"),
        ('[due.new]\njob = "heft"\nafter = "storms"\n', 'did you mean "storm"?'),
        ('[due.new]\njob = "heft"\nafter = "storm"\nearliest_days = 3\nlatest_days = 1\n', "the first not above"),
        ('[due."a:b"]\njob = "heft"\nby = "10-10"\n', "holds a colon"),
        ("[due.heft]\nevery_days = 0\n", "at least 1"),
        ("[feed]\nmean_c = [1, 2]\n", "is not a list of 12 numbers"),
        ("[feed.stores_kg_a_unit]\ngold = 1\n", "names no known material"),
        ("[feed]\nspeed = 1\n", "is not known"),
    ],
)
def test_each_slip_is_told_with_its_line(faults_of: FaultsOf, farm_toml: str, more: str, told: str) -> None:
    faults = faults_of(farm=farm_toml + more)
    assert len(faults) == 1
    assert faults[0].startswith("farm.toml:")
    assert told in faults[0]


def test_spare_rules_come_in_where_they_are_named_and_only_then(write: Write, farm_toml: str) -> None:
    """The upkeep of sites is not on every farm's list; naming a rule, even one number of it, wants it."""
    spare = spare_rules()
    assert set(spare) == {"grass-cutting", "water", "landowner-call", "security-check"}
    plain = read_farm(write(farm=farm_toml)).season
    named = read_farm(write(farm=farm_toml + "[due.grass-cutting]\nevery_days = 21\n")).season
    assert plain is not None
    assert named is not None
    assert set(plain.due) & set(spare) == set()
    assert set(named.due) - set(plain.due) == {"grass-cutting"}
    every = named.due["grass-cutting"].every_days
    assert every is not None
    assert (every.value, every.confidence) == (21, "farm")
