"""The oracle itself on farms small enough to be worked out by hand; all of it is arithmetic written beside."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from tests.hard.hard_farms import write_hard_farm
from tests.hard.oracle import Oracle
from tests.hard.outing import Outing, scanned
from tests.hard.world import Call, Relax

DATE = dt.date(2026, 6, 10)
"""A Wednesday in summer: light from before 5 to after 21 o'clock in London's time."""

CREW = {
    "earliest_start": '"06:00"',
    "home_by": '"18:00"',
    "break_minutes": "0",
    "break_after_hours": "3",
    "trips_a_day": "1",
}


def farm_of(
    folder: Path,
    sites: Mapping[str, str],
    drives: Mapping[tuple[str, str], float],
    *,
    crew: Mapping[str, str] | None = None,
    jobs: str = "",
    payload: int = 500,
    loading: int = 0,
    marked: str = "",
) -> Oracle:
    """Return the oracle of a farm whose every site has one hive and 20 minutes of work, at the hours given."""
    keys = "\n".join(f"{key} = {value}" for key, value in {**CREW, **(crew or {})}.items())
    (folder / "farm.toml").write_text(
        f'name = "By hand"\ntime_zone = "Europe/London"\n[base]\nplace = "52.300, -2.500"\nloading_minutes = {loading}\n'
        f'[[vehicle]]\nid = "van"\npayload_kg = {payload}\nspace_litres = 30000\n[[crew]]\nid = "one"\nvehicle = "van"\n{keys}\n'
        "[job_kind.heft]\nminutes_a_visit = 20\nminutes_a_hive = 0\n"
        '[material.sack]\nunit = "kg"\nkg_each = 1\nlitres_each = 1\nsold_by = 30\npack = "sack"\n'
        "[job_kind.bring]\nminutes_a_visit = 20\nminutes_a_hive = 0\ntakes = { sack = 20 }\n",
        encoding="utf-8",
    )
    rows = [
        f'{name},"52.{310 + number}, -2.500",1,{hours},{"yes" if name in marked else "no"}'
        for number, (name, hours) in enumerate(sites.items())
    ]
    (folder / "sites.csv").write_text("\n".join(["id,place,hives,hours,last_of_day", *rows]) + "\n", encoding="utf-8")
    wanted = jobs or "\n".join(f"{name},heft,must" for name in sites)
    (folder / "jobs.csv").write_text(f"site,kind,rank\n{wanted}\n", encoding="utf-8")
    known = "\n".join(f"{start},{end},{minutes}" for (start, end), minutes in drives.items())
    (folder / "drives.csv").write_text(f"from,to,minutes\n{known}\n", encoding="utf-8")
    return Oracle(read_farm(folder), (DATE,))


def all_drives(*names: str, minutes: float = 10) -> dict[tuple[str, str], float]:
    """Return the same minutes between base and all sites."""
    places = ("base", *names)
    return {(start, end): minutes for number, start in enumerate(places) for end in places[number + 1 :]}


def stops(outing: Outing, *names: str) -> list[Call]:
    """Return the first possible stop of each site, alone."""
    return [next(call for call in outing.calls if call.site == name) for name in names]


def local(oracle: Oracle, seconds: int) -> str:
    """Return an instant as a clock time of the farm."""
    return f"{dt.datetime.fromtimestamp(seconds, tz=oracle.world.zone):%H:%M}"


def test_a_break_in_a_wait_that_is_there_anyway_costs_nothing(tmp_path: Path) -> None:
    """A 08-09, C 12-13, D 12:50-15, 20 min each, drives 10, break 30 after 3 h.

    Leave 08:30, A 08:40-09:00, break there 09:00-09:30, C 12:00-12:20, at D 12:30, work 12:50-13:10, home 13:20: 4 h 50. The
    break begins 30 min after leaving. Without it the day is as long, so longer than 3 h: it is due.
    """
    hours = {"A": "08:00-09:00", "C": "12:00-13:00", "D": "12:50-15:00"}
    oracle = farm_of(tmp_path, hours, all_drives(*hours), crew={"break_minutes": "30"})
    (outing,) = oracle.outings
    timed = outing.best(stops(outing, "A", "C", "D"))
    assert timed is not None
    assert (local(oracle, timed.leave), local(oracle, timed.home)) == ("08:30", "13:20")
    assert (timed.away, timed.gap) == (4 * 3600 + 50 * 60, 1)
    assert oracle.best()[0b111][0] == 4 * 3600 + 50 * 60


def test_a_break_that_would_begin_too_late_in_one_gap_is_taken_in_an_earlier_one(tmp_path: Path) -> None:
    """A 08-09, B always, C 13:30-14:30, 20 min each, drives 10, break 30 after 1 h.

    Leave 08:30, A 08:40-09:00, B 09:10-09:30: there the break begins just 1 h after leaving, in the wait before C, which
    is 13:30-13:50, home 14:00: 5 h 30. With the break after 0.9 h it must be taken after A, from 09:00: B is then
    09:40-10:00, and as the wait before C holds that too the day is as long.
    """
    hours = {"A": "08:00-09:00", "B": "", "C": "13:30-14:30"}
    oracle = farm_of(tmp_path, hours, all_drives(*hours), crew={"break_minutes": "30", "break_after_hours": "1"})
    (outing,) = oracle.outings
    timed = outing.best(stops(outing, "A", "B", "C"))
    assert timed is not None
    assert (local(oracle, timed.leave), local(oracle, timed.home)) == ("08:30", "14:00")
    assert {one.gap for one in outing.possible(stops(outing, "A", "B", "C"))} == {1, 2}
    sooner = {"break_minutes": "30", "break_after_hours": "0.9"}
    again = farm_of(tmp_path, hours, all_drives(*hours), crew=sooner).outings[0]
    assert {one.gap for one in again.possible(stops(again, "A", "B", "C"))} == {1}
    assert again.best(stops(again, "A", "B", "C")) == replace(timed, gap=1)


def test_a_day_that_needs_no_break_has_none_and_one_second_more_needs_it(tmp_path: Path) -> None:
    """One site 80 min away with 20 min of work is 3 h 00 and needs no break after 3 h; 81 min there make 3 h 02, and 32 more."""
    short = farm_of(tmp_path, {"A": ""}, {("base", "A"): 80}, crew={"break_minutes": "30"})
    assert short.best()[1][0] == 3 * 3600
    long = farm_of(tmp_path, {"A": ""}, {("base", "A"): 81}, crew={"break_minutes": "30"})
    assert long.best()[1][0] == 3 * 3600 + 2 * 60 + 30 * 60


def test_no_break_comes_after_the_last_work_and_a_gate_may_be_too_short_before_it(tmp_path: Path) -> None:
    """Home by 09:52 from 06:00: A open 06-07:21 is 61 min away, 60 back, 20 of work: 2 h 22, break 30 after 2 h.

    With the break before the work at A it would be 61 + 30 = 07:31 before the work begins, when the gate has shut.
    """
    drives = {("base", "A"): 61.0, ("A", "base"): 60.0}
    oracle = farm_of(tmp_path, {"A": "06:00-07:21"}, drives, crew={"break_minutes": "30", "break_after_hours": "2"})
    assert oracle.best() == {0: (0, 0)}


def test_the_break_of_a_far_first_stop_begins_on_arrival(tmp_path: Path) -> None:
    """A is 2 h away, the break is due after 1 h: it begins on arrival, 2 h + 30 min + 20 min + 2 h = 4 h 50."""
    oracle = farm_of(tmp_path, {"A": ""}, {("base", "A"): 120}, crew={"break_minutes": "30", "break_after_hours": "1"})
    assert oracle.best()[1][0] == 4 * 3600 + 50 * 60


def test_the_break_is_at_a_suspect_site_only_where_nothing_else_keeps_every_rule(tmp_path: Path) -> None:
    """A then S (suspect, 10:30-10:50): the wait before S holds the break, taken at A; alone at S it is before its work."""
    crew = {"break_minutes": "30", "break_after_hours": "1"}
    oracle = farm_of(tmp_path, {"A": "08:00-09:00", "S": "10:30-10:50"}, all_drives("A", "S"), crew=crew, marked="S")
    (outing,) = oracle.outings
    timed = outing.best(stops(outing, "A", "S"))
    assert timed is not None
    assert (timed.away, timed.marked_host) == (2 * 3600 + 30 * 60, False)  # 08:30 to 11:00
    assert outing.best(stops(outing, "S", "A")) is None  # nothing healthy after it
    far = farm_of(tmp_path, {"S": ""}, {("base", "S"): 60}, crew=crew, marked="S")
    alone = far.outings[0].best(stops(far.outings[0], "S"))
    assert alone is not None
    assert alone.marked_host


def test_a_second_load_costs_the_way_by_base_and_is_taken_only_where_one_trip_is_too_heavy(tmp_path: Path) -> None:
    """A and B take 20 kg each of 30 kg sacks: 2 sacks for both are 60 kg.

    Payload 60: one trip, 10 + 20 + 10 + 20 + 10 = 70 min. Payload 50: 30 kg out to A, home, 10 min to load another
    sack on top of the 10 kg left over (40 kg on board), out to B: 10 + 20 + 10 + 10 + 10 + 20 + 10 = 90 min.
    Payload 39 is passed by those 40 kg, so only one of the two is served.
    """
    jobs, sites = "A,bring,must\nB,bring,must", {"A": "", "B": ""}
    crew = {"trips_a_day": "2"}
    drives = all_drives("A", "B")
    away = {
        payload: farm_of(tmp_path, sites, drives, crew=crew, jobs=jobs, payload=payload, loading=10)
        .best()
        .get(3, (0, 0))[0]
        for payload in (60, 50, 39)
    }
    assert away == {60: 70 * 60, 50: 90 * 60, 39: 0}


def test_of_two_spans_the_later_one_serves_where_the_first_is_too_short(tmp_path: Path) -> None:
    """B is open 08:00-08:15, too short for 20 min, and 13-15: A 08-12 first, then B from 13:00, home 13:30.

    A's work ends at 12:00 at the latest, so the day is 11:30 to 13:30: 2 h 00.
    """
    sites = {"A": "08:00-12:00", "B": "08:00-08:15 13:00-15:00"}
    oracle = farm_of(tmp_path, sites, all_drives("A", "B"))
    assert oracle.best()[0b11][0] == 2 * 3600


def test_relaxing_by_less_than_is_missing_does_not_help_and_by_that_much_does(tmp_path: Path) -> None:
    """70 min of round against home 60 min after the start: 10 min later home are missing, or an earlier start."""
    crew = {"earliest_start": '"08:00"', "home_by": '"09:00"'}
    oracle = farm_of(tmp_path, {"A": "", "B": ""}, all_drives("A", "B"), crew=crew)
    farm = oracle.world.farm
    assert not oracle.does(0b11)
    assert not Oracle(farm, (DATE,), relax=Relax(home=599)).does(0b11)
    assert not Oracle(farm, (DATE,), relax=Relax(start=599)).does(0b11)
    assert Oracle(farm, (DATE,), relax=Relax(home=600)).does(0b11)
    assert Oracle(farm, (DATE,), relax=Relax(start=600)).does(0b11)
    assert not Oracle(farm, (DATE,), relax=Relax(light=3600)).does(0b11)


@pytest.mark.parametrize("seed", range(40))
def test_trying_the_departure_of_every_second_gives_what_the_formula_gives(seed: int, tmp_path: Path) -> None:
    """Days of one, two and three stops of hard farms whose loads fit at once, with every gap of the break."""
    dates = write_hard_farm(tmp_path, seed)
    oracle = Oracle(read_farm(tmp_path), dates)
    dice = random.Random(seed)
    for outing in oracle.outings:
        if not outing.light or not outing.calls:
            continue
        for _ in range(40):
            some: list[Call] = []
            for call in dice.choices(outing.calls, k=3):
                if all(not call.jobs & other.jobs and (call.marked or not other.marked) for other in some):
                    some.append(call)
            timed = outing.best(some)
            assert scanned(outing, some) == (None if timed is None else (timed.away, timed.metres))
