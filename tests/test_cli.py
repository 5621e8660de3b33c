"""The command as a person meets it: exit codes, plain lines, nothing written when something is wrong."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.round import Round

EXAMPLES = Path(__file__).parents[1] / "examples"
DATE = "2026-06-10"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a copy of the four-site example."""
    return shutil.copytree(EXAMPLES / "four-sites", tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))


def run(*words: object) -> tuple[int, str, str]:
    """Return exit code, standard output and standard error."""
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, result.stderr


def test_fit_exits_0_for_yes_and_1_for_no(folder: Path) -> None:
    assert run("fit", folder, "--on", DATE)[0] == 0
    settings = folder / "farm.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace('home_by = "13:00"', 'home_by = "12:00"'))
    code, printed, _ = run("fit", folder, "--on", DATE)
    assert code == 1
    assert "30 min" in printed


def test_plan_writes_four_files_and_the_json_is_the_round(folder: Path) -> None:
    code, printed, _ = run("plan", folder, "--on", DATE)
    assert code == 0
    written = folder / "rounds" / DATE
    assert sorted(path.name for path in written.iterdir()) == [
        f"{DATE}-one.html",
        "map.html",
        "round.html",
        "round.json",
        "round.md",
    ]
    planned = Round.model_validate_json((written / "round.json").read_text(encoding="utf-8"))
    assert {stop.site for stop in planned.itineraries[0].stops} == set("ABCD")
    (line,) = [line for line in printed.splitlines() if line.startswith("Written to ")]
    where, _, names = line.removeprefix("Written to ").rpartition(": ")
    assert where == str(written)
    assert sorted(names.split(", ")) == sorted(path.name for path in written.iterdir())


def test_planning_twice_writes_the_same_bytes(folder: Path) -> None:
    run("plan", folder, "--on", DATE)
    first = {path.name: path.read_bytes() for path in (folder / "rounds" / DATE).iterdir()}
    run("plan", folder, "--on", DATE)
    assert first == {path.name: path.read_bytes() for path in (folder / "rounds" / DATE).iterdir()}


def test_json_prints_one_document_and_nothing_else(folder: Path) -> None:
    assert json.loads(run("plan", folder, "--on", DATE, "--json")[1])["farm"] == "Four sites"
    assert json.loads(run("fit", folder, "--on", DATE, "--json")[1])["fits"] is True


def test_every_fault_is_told_at_once_with_exit_2_and_nothing_is_written(folder: Path) -> None:
    (folder / "sites.csv").write_text(
        'id,name,place,hives\nA,Alder,"52.31, -2.50",12x\nB,Birch,nowhere,5\n', encoding="utf-8"
    )
    code, printed, told = run("plan", folder, "--on", DATE)
    assert code == 2
    assert printed == ""
    assert 'sites.csv:2: hives "12x" is not a whole number' in told
    assert "sites.csv:3:" in told
    assert not (folder / "rounds").exists()


@pytest.mark.parametrize("text", ["12/13/2026", "2026-02-30", "soon", "", "0001-01-01", "9999-12-31"])
def test_a_date_that_is_none_is_told_plainly(folder: Path, text: str) -> None:
    code, _, told = run("fit", folder, "--on", text)
    assert code == 2
    assert "is not a date" in told


def test_today_and_tomorrow_are_dates(folder: Path) -> None:
    assert run("light", folder, "--on", "today")[0] == 0
    assert run("light", folder)[0] == 0


def test_a_folder_that_is_not_there_is_told_plainly(tmp_path: Path) -> None:
    code, _, told = run("plan", tmp_path / "none", "--on", DATE)
    assert code == 2
    assert "none" in told


def test_a_place_that_cannot_be_written_is_told_plainly(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    code, _, told = run("plan", folder, "--on", DATE, "--out", tmp_path / "file" / "below")
    assert code == 2
    assert told
    assert (tmp_path / "file").read_text(encoding="utf-8") == "in the way"


def test_new_writes_a_folder_that_reads_and_plans_and_is_never_overwritten(tmp_path: Path) -> None:
    farm = tmp_path / "farm"
    assert run("new", farm)[0] == 0
    assert run("read", farm)[0] == 0
    assert run("plan", farm, "--on", "2026-12-10")[0] == 0
    before = (farm / "farm.toml").read_bytes()
    assert run("new", farm)[0] == 2
    assert (farm / "farm.toml").read_bytes() == before


def test_kinds_and_schema_print(folder: Path) -> None:
    assert "minutes a hive: 8 (the farm's own: farm.toml)" in run("kinds", folder)[1]
    assert "minutes a hive" in run("kinds")[1]
    assert json.loads(run("schema")[1])["$schema"]


def test_light_has_a_row_for_each_site(folder: Path) -> None:
    printed = run("light", folder, "--on", DATE)[1]
    for name in ("Alder", "Birch", "Cherry", "Damson"):
        assert name in printed


def test_a_hostile_name_is_only_letters_on_the_terminal(folder: Path) -> None:
    sites = folder / "sites.csv"
    sites.write_text(sites.read_text(encoding="utf-8").replace("Alder", "[red]Al[/red] $(x) :bee:"), encoding="utf-8")
    assert "[red]Al[/red] $(x) :bee:" in run("plan", folder, "--on", DATE)[1]


def test_a_name_that_would_turn_the_writing_round_is_refused(folder: Path) -> None:
    sites = folder / "sites.csv"
    sites.write_text(sites.read_text(encoding="utf-8").replace("Alder", "Al\u202eder"), encoding="utf-8")
    code, printed, told = run("plan", folder, "--on", DATE)
    assert (code, printed) == (2, "")
    assert "sites.csv:2: name" in told
    assert "\u202e" not in told


def test_even_days_are_told_on_the_terminal_and_in_every_file_of_the_round(folder: Path) -> None:
    code, printed, _ = run("plan", folder, "--on", DATE, "--days", "2", "--even")
    assert code == 0
    (written,) = (folder / "rounds").iterdir()
    planned = Round.model_validate_json((written / "round.json").read_text(encoding="utf-8"))
    assert planned.even is not None
    pages = [(written / name).read_text(encoding="utf-8") for name in ("round.md", "round.html")]
    assert all(planned.even.text in " ".join(text.split()) for text in (printed, *pages))


def test_even_days_with_a_chance_are_refused(folder: Path) -> None:
    code, _, told = run("plan", folder, "--on", DATE, "--even", "--sure", "0.9")
    assert code == 2
    assert "--even" in told
    assert not (folder / "rounds").exists()


def test_a_round_written_before_these_fields_were_there_still_reads(folder: Path) -> None:
    run("plan", folder, "--on", DATE)
    saved = folder / "rounds" / DATE / "round.json"
    document = json.loads(saved.read_text(encoding="utf-8"))
    del document["even"], document["proof"]["stopped"]
    saved.write_text(json.dumps(document), encoding="utf-8")
    code, _, told = run("share", folder, "--round", saved, "--csv", folder / "out.csv")
    assert (code, told) == (0, "")
