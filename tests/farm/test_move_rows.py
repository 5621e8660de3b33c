"""Where hives are to go, in jobs.csv and farm.toml: what is read and what is refused, with its line."""

from __future__ import annotations

import pytest

from routing.farm.folder import read_farm
from routing.farm.kinds import load_catalogue
from tests.farm.conftest import FARM_TOML, FaultsOf, Write

SITES = "id,place,hives,last_of_day\nridge,52.1 -2.7,10,no\nhollow,52.2 -2.7,0,no\nlane,52.3 -2.7,4,yes\n"


def test_a_row_may_say_where_its_hives_go(write: Write) -> None:
    farm = read_farm(write(sites=SITES, jobs="site,kind,hives,to\nridge,move-hives,4,Hollow\nridge,heft,,\n"))
    assert [(job.kind, job.hives, job.to) for job in farm.jobs] == [("move-hives", 4, "hollow"), ("heft", 10, "")]
    assert farm.warnings == ()


def test_hives_that_go_to_two_places_are_no_double_row(write: Write) -> None:
    jobs = "site,kind,hives,to\nridge,move-hives,4,hollow\nridge,move-hives,4,\nridge,move-hives,2,hollow\n"
    warnings = read_farm(write(sites=SITES, jobs=jobs)).warnings
    assert [fault.line for fault in warnings] == [4]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("ridge,move-hives,holow", 'jobs.csv:2: to "holow" is not in sites.csv; did you mean "hollow"?'),
        ("ridge,move-hives,ridge", 'jobs.csv:2: to "ridge" is the site itself; name the site that the hives go to'),
        ("ridge,heft,hollow", 'jobs.csv:2: kind "heft" moves no hives, so it goes to no other site; leave to empty'),
        ("lane,move-hives,ridge", 'jobs.csv:2: site "lane" is marked last_of_day: where disease is suspected nothing'),
        ("ridge,move-hives,lane", 'jobs.csv:2: site "lane" is marked last_of_day: where disease is suspected nothing'),
    ],
)
def test_where_hives_cannot_go_is_told_with_its_line(faults_of: FaultsOf, row: str, said: str) -> None:
    (line,) = faults_of(sites=SITES, jobs=f"site,kind,to\n{row}\n")
    assert line.startswith(said)


def test_a_destination_with_faults_of_its_own_is_told_once(faults_of: FaultsOf) -> None:
    sites = "id,place,hives\nridge,52.1 -2.7,10\nhollow,nowhere,0\n"
    lines = faults_of(sites=sites, jobs="site,kind,to\nridge,move-hives,hollow\n")
    assert [line.partition(":")[0] for line in lines] == ["sites.csv"]


def test_a_kind_of_your_own_may_move_hives(write: Write) -> None:
    own = "[job_kind.nucs-away]\nminutes_a_visit = 10\nminutes_a_hive = 3\nset_down_minutes_a_hive = 2\n"
    farm = read_farm(write(farm=FARM_TOML + own, sites=SITES, jobs="site,kind,to\nridge,nucs-away,hollow\n"))
    assert farm.jobs[0].to == "hollow"
    figure = farm.job_kinds["nucs-away"].set_down_minutes_a_hive
    assert figure is not None
    assert (figure.value, figure.confidence) == (2, "farm")


def test_the_distance_rule_has_its_source_and_may_be_changed(write: Write) -> None:
    rules = load_catalogue().rules
    assert rules.move_farther_than_km is not None
    assert rules.move_nearer_than_metres is not None
    assert (rules.move_nearer_than_metres.value, rules.move_farther_than_km.value) == (1, 4.83)
    assert "Bedfordshire BKA" in rules.move_farther_than_km.source
    own = read_farm(write(farm=FARM_TOML + "[rules]\nmove_farther_than_km = 3\n")).rules
    assert own.move_farther_than_km is not None
    assert own.move_farther_than_km.value == 3


def test_a_distance_rule_that_contradicts_itself_is_told(faults_of: FaultsOf) -> None:
    (line,) = faults_of(farm=FARM_TOML + "[rules]\nmove_nearer_than_metres = 2000\nmove_farther_than_km = 1\n")
    assert "move_nearer_than_metres is farther than move_farther_than_km" in line
