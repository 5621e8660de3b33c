"""What the commands write, as a farmer meets it: old pages go, own files stay, secrets are for nobody else to read."""

import json
import stat
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from routing.cli import share_locked
from routing.cli.app import app
from routing.cli.share_passphrase import ASKED_OF
from tests.test_share_command import FARM, JOBS, SITES

DATE = "2026-12-10"
pytestmark = pytest.mark.usefixtures("few_key_rounds")

PASSPHRASE = "quiet willow sundial basket"  # noqa: S105 -- of a test
OPEN = [f"{DATE}-alder.html", "map.html", "round.html", "round.md"]


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    folder = tmp_path / "farm"
    folder.mkdir()
    for name, text in (("farm.toml", FARM), ("sites.csv", SITES), ("jobs.csv", JOBS)):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def run(*words: object) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words], env={ASKED_OF: PASSPHRASE})


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_the_page_of_a_crew_that_no_longer_goes_out_is_removed_and_notes_stay(farm: Path) -> None:
    day = farm / "rounds" / DATE
    assert run("plan", farm, "--on", DATE).exit_code == 0
    (day / "notes.txt").write_text("mine")
    settings = FARM.replace('id = "alder"\nname = "Alder"', 'id = "rush"\nname = "Rush"')
    (farm / "farm.toml").write_text(settings, encoding="utf-8")
    result = run("plan", farm, "--on", DATE)
    assert f"Removed: {DATE}-alder.html" in result.stderr
    assert names(day) == [f"{DATE}-rush.html", "map.html", "notes.txt", "round.html", "round.json", "round.md"]
    assert names(day.parent) == [DATE]


def test_a_round_with_gate_codes_is_for_nobody_else_to_read(farm: Path, tmp_path: Path) -> None:
    assert run("plan", farm, "--on", DATE).exit_code == 0
    assert run("plan", farm, "--on", DATE, "--with-private").exit_code == 0
    day = farm / "rounds" / DATE
    assert stat.S_IMODE(day.stat().st_mode) == 0o700
    assert {stat.S_IMODE(path.stat().st_mode) for path in day.iterdir()} == {0o600}
    assert run("share", farm, "--on", DATE, "--gpx", tmp_path / "x.gpx", "--with-private").exit_code == 0
    assert stat.S_IMODE((tmp_path / "x.gpx").stat().st_mode) == 0o600


@pytest.mark.parametrize("name", ["round.md", f"{DATE}-alder.html"])
def test_what_was_changed_is_told_before_anything_is_planned(
    farm: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    run("plan", farm, "--on", DATE)
    changed = farm / "rounds" / DATE / name
    changed.write_text("with a line of mine")
    monkeypatch.setattr("routing.stages.plan.plan", lambda *_given, **_more: pytest.fail("it was planned first"))
    result = run("plan", farm, "--on", DATE)
    assert (result.exit_code, name in result.stderr, "--replace" in result.stderr) == (2, True, True)
    assert changed.read_text() == "with a line of mine"


def test_a_link_in_the_farm_folder_does_not_lead_a_round_out_of_it(farm: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (farm / "rounds").symlink_to(tmp_path / "elsewhere")
    result = run("plan", farm, "--on", DATE)
    assert (result.exit_code, "leads out of the farm folder" in result.stderr) == (2, True)
    assert names(tmp_path / "elsewhere") == []


def test_locked_pages_beside_open_ones_say_so_and_the_open_ones_go_when_told(farm: Path) -> None:
    day = farm / "rounds" / DATE
    run("plan", farm, "--on", DATE)
    result = run("share", farm, "--on", DATE, "--lock")
    assert result.exit_code == 0, result.output
    assert f"these open without a passphrase: {', '.join(OPEN)}; remove them with --only-locked" in result.stderr
    assert "round.json there is not locked either" in result.stderr
    assert names(day) == sorted([*OPEN, "locked-1.html", "round.json"])
    result = run("share", farm, "--on", DATE, "--lock", "--only-locked")
    assert f"Removed, for they open without a passphrase: {', '.join(OPEN)}" in result.stderr
    assert names(day) == ["locked-1.html", "round.json"]


def test_somebody_at_a_terminal_is_asked_and_a_page_of_their_own_stays(
    farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    day = farm / "rounds" / DATE
    run("plan", farm, "--on", DATE)
    (day / "round.md").write_text("with a line of mine")
    asked: list[str] = []

    def agrees(question: str, **_options: object) -> bool:
        asked.append(question)
        return True

    monkeypatch.setattr(typer, "confirm", agrees)
    monkeypatch.setattr(share_locked, "_answers", lambda: True)
    result = run("share", farm, "--on", DATE, "--lock")
    assert result.exit_code == 0, result.output
    assert [question.endswith(f"{', '.join(OPEN)}. Remove them?") for question in asked] == [True]
    assert names(day) == ["locked-1.html", "round.json", "round.md"]
    assert "round.md; changed since outyard wrote them, so they stay" in result.stderr


def test_locked_pages_stay_beside_the_same_round_and_go_with_another(farm: Path) -> None:
    day = farm / "rounds" / DATE
    run("plan", farm, "--on", DATE)
    run("share", farm, "--on", DATE, "--lock")
    told = run("plan", farm, "--on", DATE).stderr
    assert told == "Not searched for again: all that the written round rests on is as it was.\n"
    assert "locked-1.html" in names(day)
    (farm / "jobs.csv").write_text("site,kind,rank\nmill,fondant,must\n", encoding="utf-8")
    assert "Removed: locked-1.html" in run("plan", farm, "--on", DATE).stderr
    assert "locked-1.html" not in names(day)


def test_an_export_in_the_rounds_folder_stays_when_it_is_planned_again(farm: Path) -> None:
    day = farm / "rounds" / DATE
    run("plan", farm, "--on", DATE)
    assert run("share", farm, "--on", DATE, "--gpx", day / "round.gpx").exit_code == 0
    before = (day / "round.gpx").stat()
    assert run("plan", farm, "--on", DATE).exit_code == 0
    assert (day / "round.gpx").stat().st_ino == before.st_ino


def test_a_round_of_a_farm_that_cannot_be_written_to_goes_elsewhere(farm: Path, tmp_path: Path) -> None:
    (farm / ".written").mkdir()  # so that the list of what was written can be neither read nor kept
    assert run("plan", farm, "--on", DATE, "--out", tmp_path / "out").exit_code == 0
    planned = json.loads((tmp_path / "out" / "round.json").read_text(encoding="utf-8"))
    assert planned["farm"] == "Harebell Bees"
    result = run("plan", farm, "--on", DATE, "--out", tmp_path / "out")
    assert (result.exit_code, "--replace" in result.stderr) == (2, True)


def test_a_log_exported_twice_is_replaced_and_one_with_rows_of_the_farmers_is_not(farm: Path) -> None:
    for _ in range(2):
        assert run("log", "export", farm).exit_code == 0
    with (farm / "log.csv").open("a", encoding="utf-8") as file:
        file.write("2025-12-01,,mill,heft\r\n")
    assert run("log", "export", farm).exit_code == 2
    assert run("log", "export", farm.parent / "none").exit_code == 2
    assert not (farm.parent / "none").exists()
