"""What is due is reckoned in one place: plan, fit, due and the season's page name the same day."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from routing.cli.farms import farm_of
from routing.round import Round
from routing.season.log import Log
from routing.share.wording.season import State
from routing.stages import ask as ask_stage
from routing.stages import due as due_stage
from routing.stages import plan as plan_stage
from routing.stages.season_page import season_of
from tests.season.small_farm import day, done, write_farm
from tests.season.test_commands import run

ON = "2026-10-05"
AUTUMN = (
    *("disease-inspection", "winter-strength", "heft", "hornet-watch", "entrance-blocks", "woodpecker-netting"),
    *("varroa-boards", "syrup"),
)
"""What else is due by then: done, so that the guards are planned by themselves."""
USUAL, SOONER = "2026-10-24", "2026-10-08"
WEATHER = "date,coldest_c,warmest_c,rain_mm,wind_kmh\n" + "".join(
    f"2026-10-{number:02},{-2 if number == 9 else 12},26,0,8\n" for number in range(5, 12)
)


@pytest.fixture(params=[False, True], ids=["no forecast", "frost on the 9th"])
def folder(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Path, str]:
    """Return a folder whose guards are due, and by when: before the usual frost, or the one of the forecast."""
    write_farm(tmp_path)
    if request.param:
        (tmp_path / "weather.csv").write_text(WEATHER)
    guarded = [done(site, "mouse-guards", "2026-10-01") for site in ("beck", "cote")]
    others = [done(site, kind, "2026-10-01") for site in ("ash", "beck", "cote") for kind in AUTUMN]
    Log.open(tmp_path).add_all((done("cote", "unite", "2026-09-01"), *guarded, *others))
    return tmp_path, SOONER if request.param else USUAL


def notes(round_: Round | None) -> list[str]:
    assert round_ is not None
    stops = [stop.jobs for crew in round_.itineraries for stop in crew.stops]
    return [job.note for jobs in stops for job in jobs if job.kind == "mouse-guards"]


def test_a_frost_in_the_forecast_moves_the_day_everywhere_alike(folder: tuple[Path, str]) -> None:
    path, due = folder
    farm, on = farm_of(path), day(ON)
    (listed,) = [
        item for item in json.loads(run("due", path, "--on", ON, "--json").stdout) if item["rule"] == "mouse-guards"
    ]
    assert (listed["site"], listed["due"]) == ("ash", due)
    for round_ in (plan_stage.plan(farm, on), ask_stage.fit(farm, on).round):
        assert all(note.startswith(f"Due by {due}") for note in notes(round_))
        assert len(notes(round_)) == 1
    shown = season_of(farm, on, farm)
    (mark,) = [entry for entry in shown.entries if entry.kind == "Fit mouse guards" and entry.state is State.DUE]
    assert (mark.site, mark.date) == ("Ash Bank", day(due))
    taken = run("feed", path, "--on", ON, "--json")
    assert [line["need_by"] for line in json.loads(taken.stdout)["shopping"] if line["material"] == "mouse-guard"] == [
        due
    ]


def test_a_done_row_is_done_for_plan_due_and_the_page_alike(tmp_path: Path) -> None:
    write_farm(tmp_path, jobs="site,kind\nash,unite\n")
    others = [done(site, kind, "2026-10-01") for site in ("ash", "beck", "cote") for kind in AUTUMN]
    Log.open(tmp_path).add_all((done("ash", "unite", "2026-10-03"), *others))
    farm, on = farm_of(tmp_path), day(ON)
    assert "jobs.csv:2: is done" in " ".join(run("due", tmp_path, "--on", ON).stdout.split())
    assert any("jobs.csv:2: is done" in text for text in plan_stage.plan(farm, on).warnings)
    assert not [job for job in due_stage.asked(farm, on).farm.jobs if job.kind == "unite"]
