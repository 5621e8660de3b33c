"""A log that is begun says from when it counts, and what it cannot know it calls not known."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.season.due import State, due_items
from routing.season.log import Log
from routing.stages import due as due_stage
from tests.season.small_farm import day, done, write_farm
from tests.season.test_commands import run

HEFT = ("--site", "ash", "--kind", "heft", "--on", "2026-11-20", "--stores-kg", "20")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_farm(tmp_path)


def states(folder: Path, on: str) -> dict[str, list[str]]:
    """Return the rules of each state that `outyard due` lists, each once."""
    found: dict[str, list[str]] = {}
    for item in json.loads(run("due", folder, "--on", on, "--json").stdout):
        if item["rule"] not in found.setdefault(item["state"], []):
            found[item["state"]].append(item["rule"])
    return found


def test_one_heft_and_one_storm_make_no_heap_of_overdue_work(folder: Path) -> None:
    """Guards, blocks and netting fell due in October, before the log counts: not known, not planned, and told once."""
    begun = run("log", "add", folder, *HEFT)
    assert "The log counts from 20 November 2026" in " ".join(begun.stdout.split())
    assert (
        "The log counts"
        not in run("log", "add", folder, "--site", "all", "--kind", "storm", "--on", "2026-11-24").stdout
    )
    found = states(folder, "2026-11-28")
    assert found["overdue"] == ["storm-check"]  # on the 24th, by the 26th
    assert "heft" in found["due"]  # of the other sites nobody knows when they were hefted: now
    assert sorted(found["not known"]) == ["entrance-blocks", "mouse-guards", "woodpecker-netting"]
    planned = due_stage.with_due(read_farm(folder), day("2026-11-28"))
    assert not {job.kind for job in planned.jobs} & {"mouse-guards", "entrance-blocks", "woodpecker-netting"}
    (told,) = [str(warning) for warning in planned.warnings if "not planned" in str(warning)]
    assert "Fit mouse guards (3 sites), Fit entrance blocks (3 sites), Fit woodpecker netting (3 sites)" in told
    assert "fell due before 20 November 2026" in told
    listed = run("due", folder, "--on", "2026-11-28").stdout.splitlines()
    assert len(listed) < 60


def test_what_was_not_done_is_planned_once_the_log_is_said_to_be_complete_since_then(folder: Path) -> None:
    run("log", "add", folder, *HEFT)
    assert run("log", "begin", folder, "--counts-from", "2026-09-01").exit_code == 0
    assert "mouse-guards" in states(folder, "2026-11-28")["overdue"]
    assert run("log", "begin", folder, "--counts-from", "soon").exit_code == 2


def test_the_first_entry_may_say_from_when_the_log_counts_and_no_later_one(folder: Path) -> None:
    run("log", "add", folder, *HEFT, "--counts-from", "2026-09-01")
    assert Log.record_of(folder).begun == day("2026-09-01")
    again = run("log", "add", folder, *HEFT, "--counts-from", "2026-10-01")
    assert (again.exit_code, "outyard log begin" in again.output) == (2, True)
    assert len(Log.record_of(folder).entries) == 1


def test_a_terminal_is_asked_from_when_the_log_counts(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def answer(text: str, default: str) -> str:
        asked.append(f"{text} {default}")
        return "2026-09-01"

    monkeypatch.setattr("routing.cli.log_shared._answers", lambda: True)
    monkeypatch.setattr("typer.prompt", answer)
    run("log", "add", folder, *HEFT)
    assert len(asked) == 1
    assert "From when is it complete?" in asked[0]
    assert asked[0].endswith("2026-11-20")
    assert Log.record_of(folder).begun == day("2026-09-01")


def test_as_soon_as_such_work_is_logged_the_other_sites_are_known_to_lack_it(folder: Path) -> None:
    """Guards logged at Ash Bank on 22 November: the other two were due when the log began."""
    run("log", "add", folder, *HEFT)
    Log.open(folder).add(done("ash", "mouse-guards", "2026-11-22"))
    found = due_items(due_stage.asked(read_farm(folder), day("2026-11-28")))
    guards = {item.site: (item.state, item.due) for item in found if item.rule == "mouse-guards"}
    assert guards == {site: (State.OVERDUE, day("2026-11-20")) for site in ("beck", "cote")}


def test_work_that_nobody_ever_logs_is_not_known_when_its_season_is_over(folder: Path) -> None:
    """The log counts from March and holds hefts alone: no inspection is said to be missing since spring."""
    run("log", "add", folder, "--site", "ash", "--kind", "heft", "--on", "2026-03-01", "--stores-kg", "20")
    found = states(folder, "2026-08-10")
    assert "weekly-inspection" in found["not known"]
    assert found["not done, season over"] == ["heft"]
    assert "weekly-inspection" not in found.get("overdue", [])


def test_without_any_log_what_is_in_season_is_due_now(folder: Path) -> None:
    assert "mouse-guards" in states(folder, "2026-11-28")["due"]


def test_a_log_of_before_this_question_counts_from_its_oldest_entry(folder: Path) -> None:
    Log.open(folder).add(done("ash", "heft", "2026-10-01", stores_kg=20))
    assert Log.record_of(folder).counts_from is None
    assert Log.record_of(folder).begun == day("2026-10-01")


def test_an_import_counts_from_its_oldest_entry(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    Log.open(folder).add_all((done("ash", "heft", "2026-10-01", stores_kg=20), done("beck", "storm", "2026-11-01")))
    run("log", "export", folder)
    other = write_farm(tmp_path_factory.mktemp("other"))
    assert "The log counts from 1 October 2026" in run("log", "import", other, folder / "log.csv").stdout
    assert Log.record_of(other).begun == day("2026-10-01")
