"""Every option and argument of every command, found by asking the program itself, given what nobody should give."""

from __future__ import annotations

import datetime as dt
import json
import os
import shutil
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.cli.options import amount_of, clock_of
from routing.cli.telling import say, say_json
from routing.errors import AskedError
from routing.farm.inert import UNSEEN, inert, inert_json
from tests.every_command import every_command

EXAMPLE = Path(__file__).parents[1] / "examples" / "four-sites"
NEEDED = {
    "folder": "farm",
    "on": "2026-06-10",
    "site": "A",
    "kind": "heft",
    "order": "A",
    "at": "09:00",
    "here": "base",
    "counts_from": "2026-01-01",
    "before": "2020-01-01",
    "rule": "heft",
    "why": "away",
    "file": "none",
    "old": "none",
    "new": "none",
}
HOSTILE = ("\x1b[31mred\x1b[0m", "\x9b31m\u202e\u200b", "06:30+01:00", "1e308", "9" * 400, "\udcff")
"""What no option takes, but for texts, names of files and numbers that may be as large."""

TAKES_TEXT = {
    "note",
    "why",
    "crew",
    "dose",
    "amount",
    "colonies",
    "given_by",
    "supplier",
    "disposal",
    "product",
    "batch",
}
WRITES = {"out", "gpx", "ical", "geojson", "csv", "xlsx"}
"""Options that name a file to write; where output may go is tested beside the writing of files."""


def tried() -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield every command with each of its options and arguments that takes a value, but for files to write."""
    for path, command in every_command().items():
        for parameter in command.params:
            if not getattr(parameter, "is_flag", False) and parameter.name not in {*WRITES, "folder"}:
                yield path, parameter.name or ""


def words_of(path: tuple[str, ...], name: str, value: str) -> list[str]:
    """Return the words of a command with everything it needs, and one value of ours."""
    command = every_command()[path]
    options, arguments = [], []
    for parameter in command.params:
        needed = parameter.required or parameter.name == "on"
        given = value if parameter.name == name else NEEDED[parameter.name or ""] if needed else None
        if given is not None and parameter.param_type_name == "argument":
            arguments.append(given)
        elif given is not None:
            options.append(f"{parameter.opts[0]}={given}")
    return [*path, *options, "--", *arguments]


def files(folder: Path) -> list[tuple[str, int]]:
    return sorted((path.name, path.stat().st_size) for path in folder.rglob("*"))


@pytest.mark.parametrize(
    ("path", "name"), list(tried()), ids=lambda part: part if isinstance(part, str) else " ".join(part)
)
def test_a_hostile_value_is_refused_in_plain_words(
    path: tuple[str, ...], name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit code 2, nothing that a terminal obeys, a few short lines, and nothing written; free text may be taken."""
    monkeypatch.chdir(tmp_path)
    shutil.copytree(EXAMPLE, "farm", ignore=shutil.ignore_patterns("rounds"))
    before = files(tmp_path)
    for value in HOSTILE:
        result = CliRunner().invoke(app, words_of(path, name, value))
        told = (path, name, value, result.output)
        shown = {letter for letter in result.output if unicodedata.category(letter) in UNSEEN}
        assert shown <= {"\n"}, told
        if name in TAKES_TEXT and result.exit_code == 0:
            before = files(tmp_path)
            continue
        assert isinstance(result.exception, SystemExit), told
        assert result.exit_code == 2, told
        lines = result.output.strip().split("\n")
        assert len(lines) <= 5, told
        assert max(map(len, lines)) <= 600, told
        assert files(tmp_path) == before, told


@pytest.mark.parametrize(
    "text", ["06:30+01:00", "09:15Z", "0930", "T09:30", "09:30:15", "24:00", "9.5.30", "", "9 bis", "١٢:٣٠"]
)
def test_a_time_of_day_is_hours_and_minutes_alone(text: str) -> None:
    with pytest.raises(AskedError, match=r"--at .* is not a time of day; write HH:MM"):
        clock_of(text, "--at")
    for written in ("9:30", "9.30", " 09:30", "9h30", "9:30 am"):
        assert clock_of(written, "--at") == dt.time(9, 30)


@pytest.mark.parametrize(
    "text", ["fondant", "=1", "fondant=", "fondant=1e308", "fondant=nan", "fondant=-1", "f=1=2", "f=1_0"]
)
def test_an_amount_is_a_material_and_a_plain_number(text: str) -> None:
    with pytest.raises(AskedError, match=r"write fondant=12\.5"):
        amount_of(text, "--used")
    assert amount_of(" fondant = 12,5 ", "--used") == ("fondant", 12.5)


@pytest.mark.parametrize("command", ["read", "log list", "log undo", "due", "kinds", "roads", "weather show", "feed"])
@pytest.mark.parametrize("name", ["x" * 300, "\x1b[31m", "a\nb", "\udcff", "/dev/zero"])
def test_a_folder_that_cannot_be_is_told_in_one_line(command: str, name: str) -> None:
    result = CliRunner().invoke(app, [*command.split(), name])
    assert isinstance(result.exception, SystemExit)
    assert result.exit_code == 2
    assert result.output.count("\n") == 1
    assert "there is no" in result.output
    assert not any(unicodedata.category(letter) in UNSEEN for letter in result.output.strip())


@pytest.mark.parametrize("odd", ["pipe", "endless", "made up", "folder"])
def test_a_saved_round_that_is_no_plain_file_is_refused(odd: str, tmp_path: Path) -> None:
    path = tmp_path / "round.json"
    if odd == "pipe":
        os.mkfifo(path)
    elif odd == "folder":
        path.mkdir()
    else:
        path.symlink_to({"endless": "/dev/zero", "made up": "/proc/self/maps"}[odd])
    shutil.copytree(EXAMPLE, tmp_path / "farm")
    for words in (
        ["compare", str(path), str(path)],
        ["share", str(tmp_path / "farm"), "--round", str(path), "--gpx", str(tmp_path / "x.gpx")],
    ):
        result = CliRunner().invoke(app, words)
        assert isinstance(result.exception, SystemExit)
        assert result.exit_code == 2
        assert "not a plain file" in result.output
    assert not (tmp_path / "x.gpx").exists()


def test_what_a_screen_would_obey_is_written_as_an_escape() -> None:
    hostile = "a\x1b[31m\x9bb\x07\u202ec\u200b\u2066\ufeff\ud800é\nnext"
    assert inert(hostile) == "a\\x1b[31m\\x9bb\\x07\\u202ec\\u200b\\u2066\\ufeff\\ud800é\nnext"


def test_a_document_means_the_same_and_acts_on_no_screen(capsys: pytest.CaptureFixture[str]) -> None:
    """The names of a round and its keys come back letter for letter, those beyond the first plane too."""
    name = "a\x1b\x9b\u202e\u200b\U000e0041é"
    text = json_of({name: [name]})
    assert json_value(inert_json(text)) == {name: [name]}
    say_json(text)
    shown = capsys.readouterr().out
    assert not any(unicodedata.category(letter) in UNSEEN for letter in shown)
    assert "é" in shown
    assert json_value(shown) == {name: [name]}


def test_lines_go_where_they_belong(capsys: pytest.CaptureFixture[str]) -> None:
    say("to \x1b you")
    say(Path("a\x9bb"), err=True)
    assert capsys.readouterr() == ("to \\x1b you\n", "a\\x9bb\n")


def json_of(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def json_value(text: str) -> object:
    return json.loads(text)


HOSTILE_NAME = "\x9b31m\u202e\u200b\ufeff"
"""An escape of the second set, a mark that turns the direction, and two characters without a width."""


def test_names_of_files_and_folders_and_keys_inside_files_act_on_no_screen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A farm in a folder of a hostile name is begun, read, logged, exported, shown; a round has a hostile key."""
    monkeypatch.chdir(tmp_path)
    folder, file = f"farm{HOSTILE_NAME}", f"round{HOSTILE_NAME}.json"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("rounds"))
    Path(file).write_text(json_of({HOSTILE_NAME: 1, "\x1b": 2}))
    Path(folder, "weather.json").write_text(json_of({"error": True, "reason": f"no{HOSTILE_NAME}"}))
    for words, code in (
        (["new", f"new{HOSTILE_NAME}"], 0),
        (["new", folder], 2),
        (["read", folder], 0),
        (["weather", "show", folder], 0),
        (["log", "undo", folder], 2),
        (["log", "add", folder, "--site", "A", "--kind", "heft", "--on", "2026-06-10"], 0),
        (["log", "export", folder], 0),
        (["season", folder, "--on", "2026-06-10"], 0),
        (["compare", file, file], 2),
        (["done", folder, file], 2),
        (["log", "import", folder, file], 2),
        (["share", folder, "--round", file, "--gpx", "x.gpx"], 2),
    ):
        result = CliRunner().invoke(app, words)
        assert result.exit_code == code, (words, result.output)
        assert {letter for letter in result.output if unicodedata.category(letter) in UNSEEN} == {"\n"}, words
