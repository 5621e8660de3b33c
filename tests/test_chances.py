"""The commands that tell chances, lessons and weather, from a folder to what is printed."""

from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from routing.cli.app import app
from routing.plain_words import chance_words
from routing.round import ReasonCode, Round

FARM = """\
name = "Small farm"
time_zone = "Europe/London"
[base]
place = "52.0, -2.7"
[[vehicle]]
id = "van"
payload_kg = 500
space_litres = 2000
[[crew]]
id = "ash"
name = "Ash"
vehicle = "van"
earliest_start = "08:00"
home_by = "17:00"
[weather]
url = "http://127.0.0.1:9/v1/forecast"
"""
SITES = "id,name,place,hives\nmill,Mill,52.05 -2.7,40\nford,Ford,52.0 -2.8,40\nfen,Fen,51.95 -2.75,45\n"
JOBS = "site,kind,rank\nmill,heft,must\nford,heft,want\nfen,heft,passing\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in (("farm.toml", FARM), ("sites.csv", SITES), ("jobs.csv", JOBS)):
        (tmp_path / name).write_text(text)
    return tmp_path


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words])


def test_chance_tells_each_stop_the_day_and_what_to_skip(folder: Path) -> None:
    result = run("chance", folder, "--on", "2026-12-09")
    assert result.exit_code == 0, result.output
    for words in ("All that is planned is done in time on", "Mill", "Home", "9 days in 10 by", "drive tired"):
        assert words in result.output


def test_sure_leaves_out_what_would_make_the_day_unsafe(folder: Path) -> None:
    """125 hives at 3 min, three set-ups of 10 and an hour of drives end at about twenty past four; dusk is 16:40."""
    bold = run("plan", folder, "--on", "2026-12-09", "--json", "--out", folder / "bold")
    sure = run("plan", folder, "--on", "2026-12-09", "--json", "--out", folder / "sure", "--sure", "0.95")
    assert bold.exit_code == sure.exit_code == 0, sure.output
    all_of_it, some = (Round.model_validate_json(result.stdout) for result in (bold, sure))
    assert [stop.site for stop in all_of_it.itineraries[0].stops if stop.site == "fen"] == ["fen"]
    assert {stop.site for stop in some.itineraries[0].stops} == {"mill", "ford"}
    assert [(left.site, left.reason) for left in some.left_out] == [("fen", ReasonCode.NO_ROOM)]
    assert "Planned to hold on 95% of simulated days" in some.estimates[-1]
    assert "earliest_start and home_by are your wishes and were not changed" in some.estimates[-1]
    assert run("plan", folder, "--on", "2026-12-09", "--sure", "1.5").exit_code == 2


def test_what_was_learned_is_told_and_changes_the_plan(folder: Path) -> None:
    assert "Nothing is recorded yet" in run("learned", folder).output
    (folder / "visits.csv").write_text(
        "date,site,kinds,crew,people,hives,minutes\n"
        + "".join(f"2026-11-{day:02},mill,heft,ash,1,20,140\n" for day in range(1, 26))
    )
    told = run("learned", folder)
    assert "Learned from 25 visits." in told.output
    assert "Heft and check" in told.output
    assert "learned from 25 visits" in run("kinds", folder).output.replace("\n", " ")
    (folder / "visits.csv").write_text("date,site\n")
    broken = run("learned", folder)
    assert broken.exit_code == 2
    assert 'visits.csv:1: has no column "kinds"' in broken.output


def test_weather_is_shown_and_a_failed_fetch_is_told(folder: Path) -> None:
    assert "There is no forecast: plans are made without one." in run("weather", "show", folder).output
    failed = run("weather", "fetch", folder)
    assert failed.exit_code == 2
    assert "no forecast from" in failed.output
    assert "plans go on without one" in failed.output
    (folder / "weather.csv").write_text("date,coldest_c,warmest_c,rain_mm,wind_kmh\n2026-12-09,-2,6,0,12\n")
    shown = run("weather", "show", folder)
    assert "Forecast for base: weather.csv, 0 min old." in shown.output
    assert "Wednesday 9 December 2026: -2 to 6 °C, rain up to 0.0 mm an hour, wind up to 12 km/h" in shown.output


def test_an_address_that_is_none_is_a_fault_with_its_line(folder: Path) -> None:
    (folder / "farm.toml").write_text(FARM.replace("http://127.0.0.1:9/v1/forecast", "file:///etc/passwd"))
    result = run("read", folder)
    assert result.exit_code == 2
    assert "farm.toml:16: [weather] url" in result.output


def test_the_times_are_those_of_the_plan(folder: Path) -> None:
    """One day has one time of coming home and one of each finish, whichever command tells it."""
    plan = run("plan", folder, "--on", "2026-06-10").stdout.splitlines()
    chance = run("chance", folder, "--on", "2026-06-10").stdout.splitlines()

    def row(lines: list[str], name: str) -> list[str]:
        return next(line for line in lines if f" {name} " in line and line.count(":") >= 1).split()

    assert row(plan, "Home")[-1] in row(chance, "Home")
    for site in ("Mill", "Ford", "Fen"):
        finish = [word for word in row(plan, site) if ":" in word][1]
        assert finish in row(chance, site)


def test_plan_and_chance_tell_the_same_chance(folder: Path) -> None:
    planned = Round.model_validate_json(
        run("plan", folder, "--on", "2026-12-09", "--json", "--out", folder / "out").stdout
    )
    assert planned.chance is not None
    told = f"done in time on {chance_words(planned.chance.whole)} of 10,000 simulated days."
    assert told in " ".join(run("chance", folder, "--on", "2026-12-09").output.split())
    assert planned.chance.text in " ".join(run("plan", folder, "--on", "2026-12-09").output.split())
