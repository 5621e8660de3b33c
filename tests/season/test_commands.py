"""The commands as a farmer types them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from routing.cli.app import app
from routing.season.log import Log
from tests.season.small_farm import done, write_farm


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_farm(tmp_path)


def test_add_list_undo(folder: Path) -> None:
    added = run(
        *("log", "add", folder, "--site", "Ash Bank", "--kind", "heft", "--on", "2026-11-10", "--stores-kg", "9"),
        *("--minutes", "40", "--used", "fondant=2,5", "--seen", "lid-off", "--note", "[red]roof\x1b[2J"),
    )
    assert added.exit_code == 2
    assert "control character" in added.output
    added = run(
        *("log", "add", folder, "--site", "Ash Bank", "--kind", "heft", "--on", "2026-11-10", "--stores-kg", "9"),
        *("--minutes", "40", "--used", "fondant=2,5", "--seen", "lid-off", "--note", "[red]roof"),
    )
    assert added.exit_code == 0
    line = "2026-11-10 ash: heft (40 min; stores 9 kg; 2.5 Fondant; seen: lid-off; [red]roof)".replace(
        "Fondant", "fondant"
    )
    assert line in " ".join(run("log", "list", folder).output.split())
    assert "Undone" in run("log", "undo", folder).output
    assert "holds nothing" in run("log", "list", folder).output
    assert line in " ".join(run("log", "list", folder, "--undone").output.split())
    assert run("log", "undo", folder).exit_code == 2


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--site", "nowhere", "--kind", "heft"), 'site "nowhere" is not in sites.csv'),
        (("--site", "ash", "--kind", "hefd"), 'did you mean "heft"?'),
        (("--site", "ash", "--kind", "heft", "--on", "2190-01-01"), "still to come"),
        (("--site", "ash", "--kind", "heft", "--seen", "unicorn"), "'unicorn' is none of"),
        (("--site", "ash", "--kind", "heft", "--used", "gold=1"), 'material "gold" is not known'),
        (("--site", "ash", "--kind", "heft", "--used", "fondant"), "write fondant=12.5"),
        (("--site", "ash", "--kind", "heft", "--minutes", "-1"), "minutes"),
    ],
)
def test_what_cannot_be_is_told_and_not_written(folder: Path, words: tuple[str, ...], told: str) -> None:
    result = run("log", "add", folder, *words)
    assert (result.exit_code, told in result.output) == (2, True)
    assert Log.record_of(folder).entries == ()


def test_a_medicine_brings_its_cautions_and_says_what_the_law_still_asks(folder: Path) -> None:
    """Purchase, batch, date, amount, withdrawal, colonies: Veterinary Medicines Regulations 2013, as set out by NBU."""
    bare = " ".join(
        run("log", "add", folder, "--site", "ash", "--kind", "strips-in", "--on", "2026-08-10").output.split()
    )
    assert "No medicine was written with it" in bare
    words = ("--product", "Strip A", "--batch", "77", "--days-in", "42")
    told = run("log", "add", folder, "--site", "ash", "--kind", "strips-in", "--on", "2026-08-10", *words).output
    told = " ".join(told.split())
    assert "asked for by law: dose, amount used, withdrawal, which colonies, date of purchase, supplier" in told
    assert "label and the law where you are come before this log" in told
    assert "at least 5 years" in told


def test_suspect_brood_is_told_until_the_inspectors_all_clear(folder: Path) -> None:
    add = ("log", "add", folder, "--site", "ash", "--kind", "heft")
    assert "bee inspector" in run(*add, "--on", "2026-05-01", "--seen", "suspect-brood").output
    assert "Suspect brood" in run("due", folder, "--on", "2026-06-01").output
    run(*add, "--on", "2026-06-02", "--seen", "inspector-clear")
    assert "Suspect brood" not in run("due", folder, "--on", "2026-06-03").output


def test_due_lists_cancels_and_takes_back(folder: Path) -> None:
    run("log", "add", folder, "--site", "cote", "--kind", "unite", "--on", "2026-04-20")
    due = ("due", folder, "--on", "2026-05-01", "--json")
    late = {item["site"] for item in json.loads(run(*due).output) if item["rule"] == "weekly-inspection"}
    assert late == {"ash", "beck", "cote"}
    cancel = ("due", "cancel", folder, "--rule", "weekly-inspection", "--on", "2026-05-01")
    assert run(*cancel, "--site", "all", "--why", " ").exit_code == 2
    assert run(*cancel, "--site", "nowhere", "--why", "sold").exit_code == 2
    assert run(*cancel, "--site", "all", "--why", "sold").exit_code == 0
    left = [item for item in json.loads(run(*due).output) if item["rule"] == "weekly-inspection"]
    assert {item["due"] for item in left} == {"2026-05-08"}
    assert "sold" in run("log", "list", folder).output
    run("log", "undo", folder)
    undone = [item for item in json.loads(run(*due).output) if item["rule"] == "weekly-inspection"]
    assert {item["due"] for item in undone} == {"2026-04-20"}
    assert len(undone) == 3
    shown = " ".join(run("due", folder, "--on", "2026-05-01").output.split())
    assert "Weekly inspection [weekly-inspection], must, by 2026-04-20, 11 days over" in shown
    assert "Cautions" in shown


def test_feed_says_when_and_what_to_order(folder: Path) -> None:
    Log.open(folder).add(done("ash", "heft", "2026-12-01", stores_kg=6))
    shown = " ".join(run("feed", folder, "--on", "2026-12-02").output.split())
    assert "Ash Bank: feed by 2026-12-01 (1 day over): 12.5 kg of fondant a colony, 125 kg in all" in shown
    assert "from then on at least one colony in ten has less than 12 kg" in shown
    assert "Heft first: nothing is known Cote End, 12 colonies Beck Side, 8 colonies" in shown
    assert shown.index("Feed first") < shown.index("What the next 6 weeks take") < shown.index("Site by site")
    assert "estimate" in shown
    found = json.loads(run("feed", folder, "--on", "2026-12-02", "--json").output)
    assert found["sites"][0]["site"] == "ash"


def test_export_and_import_carry_the_log_to_another_folder(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    entry = done("ash", "heft", "2026-12-01", note="=1+1", materials={"fondant": 2.5})
    Log.open(folder).add(entry)
    assert run("log", "export", folder).exit_code == 0
    other = write_farm(tmp_path_factory.mktemp("other"))
    for told in ("1 new entries", "0 new entries"):
        assert told in run("log", "import", other, folder / "log.csv").output
    assert Log.record_of(other).entries == (entry,)


def test_a_young_medicine_is_not_erased(folder: Path) -> None:
    words = ("--product", "Strip A", "--batch", "77")
    run("log", "add", folder, "--site", "ash", "--kind", "strips-in", "--on", "today", *words)
    refused = run("log", "erase", folder, "--before", "2199-01-01")
    assert (refused.exit_code, "nothing was erased" in refused.output) == (2, True)


def test_a_folder_that_is_not_there_gets_no_log(tmp_path: Path) -> None:
    for words in (("log", "list"), ("log", "undo"), ("due",), ("feed",)):
        assert run(*words, tmp_path / "nowhere").exit_code == 2
    assert not (tmp_path / "nowhere").exists()
