"""A visit whose day was promised to the landowner is made on that day, or left out by name."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing.check import broken_promises
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.round import ReasonCode
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from routing.travel.farm import farm_legs

FIRST = dt.date(2026, 6, 10)
DATES = tuple(FIRST + dt.timedelta(days=number) for number in range(3))

FARM = """\
name = "Promises"
[base]
name = "Yard"
place = "52.20, -2.90"
[[vehicle]]
id = "van"
name = "Van"
payload_kg = 500
space_litres = 3000
[[crew]]
id = "ash"
name = "Ash"
people = 1
vehicle = "van"
earliest_start = "08:00"
home_by = "17:00"
"""
SITES = 'id,name,place,hives\nnear,Near,"52.21, -2.90",4\nridge,Ridge,"52.30, -2.90",4\nnext,Next,"52.301, -2.90",4\n'


@pytest.fixture
def farm(tmp_path: Path) -> Farm:
    """Ridge and Next lie side by side, and Ridge is promised for the third day; nothing is due on it but that."""
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    (tmp_path / "sites.csv").write_text(SITES, encoding="utf-8")
    (tmp_path / "jobs.csv").write_text(
        "site,kind,rank,due_by,promised\nnext,heft,must,2026-06-10,\nridge,heft,must,,2026-06-12\n", encoding="utf-8"
    )
    return read_farm(tmp_path)


def test_it_is_done_on_its_day_though_another_would_be_cheaper(farm: Farm) -> None:
    """Next is due on the first day and Ridge is beside it, yet Ridge waits for the third; the round says so."""
    planned = plan_stage.plan(farm, *DATES)
    days = {stop.site: itinerary.date for itinerary in planned.itineraries for stop in itinerary.stops}
    assert days == {"next": DATES[0], "ridge": DATES[2]}
    told = {stop.site: stop.jobs[0].promised for itinerary in planned.itineraries for stop in itinerary.stops}
    assert told == {"next": False, "ridge": True}


def test_before_its_day_it_is_not_due_and_after_it_is_left_out_by_name(farm: Farm) -> None:
    """On the day before it waits; on the day after, the reason names the day, whether the round or fit is asked."""
    (early,) = plan_stage.plan(farm, DATES[1]).left_out
    assert (early.site, early.reason) == ("ridge", ReasonCode.NOT_DUE)
    (late,) = plan_stage.plan(farm, DATES[2] + dt.timedelta(days=1)).left_out
    assert (late.site, late.reason) == ("ridge", ReasonCode.OTHER_DAY)
    assert "2026-06-12" in late.text
    answer = ask_stage.fit(farm, DATES[2] + dt.timedelta(days=1))
    assert not answer.fits
    assert any("promised for 2026-06-12" in line for line in answer.lines)


def test_the_check_catches_a_promise_that_is_not_kept(farm: Farm) -> None:
    """The same good round, held against a farm in which the promise is for another day, is refused."""
    planned = plan_stage.plan(farm, *DATES)
    assert broken_promises(planned, farm, farm_legs(farm)) == ()
    moved = tuple(
        job.model_copy(update={"promised": DATES[1], "not_before": DATES[1], "due_by": DATES[1]})
        if job.site == "ridge"
        else job
        for job in farm.jobs
    )
    other = farm.model_copy(update={"jobs": moved})
    assert any(
        "a promised job is done on its day" in line
        for line in map(str, broken_promises(planned, other, farm_legs(other)))
    )
