"""A search in a process of its own: one at a time, told of as it goes on, and stopped with the best checked round kept."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path

import pytest

from routing import stages
from routing.desk.planner import Planner
from routing.desk.runs import NOTHING_YET, Run, Runs
from routing.desk.searcher import Asked
from routing.errors import AskedError
from routing.farm.models import Farm
from tests.farm_of_twenty import write_farm

DATE = dt.date(2026, 6, 10)
LONG = 300
SECOND = (
    '[[vehicle]]\nid = "truck"\nname = "Truck"\npayload_kg = 900\nspace_litres = 6000\n'
    '[[crew]]\nid = "two"\nname = "Two"\npeople = 1\nvehicle = "truck"\nearliest_start = "06:30"\nhome_by = "19:00"\n'
)


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Farm:
    """Return a farm of twenty sites and two crews, whose best round is not proven soon."""
    folder = tmp_path_factory.mktemp("twenty")
    write_farm(folder, 3, hives=8, spread=0.2, jobs=1, hours=0.2)
    with (folder / "farm.toml").open("a", encoding="utf-8") as file:
        file.write(SECOND)
    return stages.read.farm_in(folder)


def until_told(run: Run) -> None:
    """Wait until a first round is told of."""
    end = time.monotonic() + 120
    while run.standing.best is None and run.standing.running and time.monotonic() < end:
        time.sleep(0.02)
    assert run.standing.best is not None, run.standing


@pytest.mark.clock
def test_a_search_that_is_stopped_keeps_the_best_checked_round_within_two_seconds(farm: Farm) -> None:
    planner = Planner()
    planner.plan(farm, (DATE,), LONG, even=False)
    run = planner.runs.run
    assert run is not None
    until_told(run)
    told = run.standing.best
    begun = time.monotonic()
    run.cancel()
    assert time.monotonic() - begun < 2
    trial = planner.trial(farm, (DATE,))
    assert trial is not None
    round_ = trial.shown().round
    assert trial.shown().holds
    assert trial.ready.broken(round_) == ()
    assert round_.proof.stopped
    assert told is not None
    assert sum(len(stop.jobs) for day in round_.itineraries for stop in day.stops) >= told.jobs


@pytest.mark.clock
def test_a_search_that_cannot_answer_in_time_is_ended_and_its_last_tale_counts(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The process is not even told to stop; what it told of last is timed and checked here."""
    monkeypatch.setattr("routing.desk.runs.STOPPED_WITHIN_SECONDS", 0.0)
    monkeypatch.setattr("routing.desk.runs._say_stop", lambda _process: None)
    planner = Planner()
    planner.plan(farm, (DATE,), LONG, even=False)
    run = planner.runs.run
    assert run is not None
    until_told(run)
    run.cancel()
    assert run.cut_short
    trial = planner.trial(farm, (DATE,))
    assert trial is not None
    round_ = trial.shown().round
    assert trial.ready.broken(round_) == ()
    assert round_.proof.text == stages.own_days.CUT_SHORT


def test_one_search_at_a_time_and_one_that_is_stopped_before_it_began_has_no_round(farm: Farm) -> None:
    runs = Runs()
    run = runs.begin("", Asked("plan", farm, (DATE,), LONG))
    with pytest.raises(AskedError, match="under way"):
        runs.begin("", Asked("plan", farm, (DATE,), LONG))
    run.cancel()
    assert run.rounds == []
    assert run.standing.trouble == NOTHING_YET
    runs.begin("", Asked("plan", farm, (DATE,), 1)).drop()
    runs.close()


def test_what_a_search_refuses_is_told_in_its_words(farm: Farm, tmp_path: Path) -> None:
    """A road map that is not there: the process says so, in one line."""
    lost = farm.model_copy(update={"road_map": tmp_path / "none.osm.pbf"})
    run = Runs().begin("", Asked("plan", lost, (DATE,), 5))
    assert run.wait(120)
    assert run.rounds == []
    assert "none.osm.pbf" in run.standing.trouble
