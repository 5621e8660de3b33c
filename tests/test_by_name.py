"""Commands are found by name: the list of them imports none, and says of each what the command says of itself."""

from __future__ import annotations

import pkgutil
import signal
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from typer.main import get_command, get_group
from typer.testing import CliRunner

from routing import cli
from routing.cli import app as tables
from routing.cli.app import app
from routing.cli.by_name import PACKAGE, ByName, Commands, In
from tests.every_command import every_command

GROUPS = {(): tables._Whole, ("log",): tables._Log, ("due",): tables._Due, ("weather",): tables._Weather}
LOADED = "import sys; from routing.__main__ import main\ntry: main()\nexcept SystemExit: print(*sorted(sys.modules))"


def loaded(*words: str) -> set[str]:
    """Return the modules that a command line leaves imported in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", LOADED, *words], capture_output=True, text=True, check=True, timeout=60
    )
    return set(done.stdout.splitlines()[-1].split())


@pytest.mark.parametrize("words", ["--help", "log --help", "due --help", "weather --help", "plann", "log"])
def test_a_list_of_commands_imports_none_of_them(words: str) -> None:
    """Nor anything that is slow to import; so it stays quick, whatever a command needs."""
    modules = loaded(*words.split())
    ours = {name for name in modules if name.startswith("routing.")}
    assert ours == {
        *("routing.__main__", "routing.farm", "routing.farm.inert", "routing.lazily"),
        *(PACKAGE, f"{PACKAGE}.app", f"{PACKAGE}.by_name", f"{PACKAGE}.fault_report"),
    }
    assert not modules & {"rich.console", "numpy", "sqlalchemy", "ortools"}


def test_a_command_imports_its_own_file_and_no_planner_where_it_plans_nothing() -> None:
    modules = loaded("read", "--help")
    with_commands = {each.path for group in GROUPS.values() for each in group.TABLE.values()}
    assert modules & with_commands == {f"{PACKAGE}.look"}
    assert not modules & {"ortools", "sqlalchemy", "numpy"}


@pytest.mark.parametrize("words", every_command(), ids=" ".join)
def test_the_list_says_what_the_command_says_of_itself(words: tuple[str, ...]) -> None:
    """On a screen of any width, as if the command had been imported for it."""
    group = get_command(app)
    for word in words[:-1]:
        assert isinstance(group, ByName)
        group = group.commands[word]
    assert isinstance(group, ByName)
    listed, command = group._listed(words[-1]), every_command()[words]
    assert command.name == words[-1]
    for width in range(5, 200):
        assert listed.get_short_help_str(width) == command.get_short_help_str(width)


def test_every_command_that_is_written_can_be_asked_for() -> None:
    """Each file's commands are those that the tables name from it, each once."""
    named = sorted((each.path, name) for group in GROUPS.values() for name, each in group.TABLE.items())
    files = [import_module(module.name) for module in pkgutil.iter_modules(cli.__path__, f"{PACKAGE}.")]
    written = [
        (file.__name__, name)
        for file in files
        if hasattr(file, "commands")
        for name in get_group(file.commands).commands
    ]
    assert sorted(written) == named


def test_a_slip_of_the_finger_is_told_the_command_that_is_near_it() -> None:
    for words, near in ((["plann"], "'plan'"), (["log", "ad"], "'add'"), (["weathr"], "'weather'")):
        result = CliRunner().invoke(app, words)
        assert (result.exit_code, f"Did you mean {near}" in result.stderr) == (2, True)


PRESSED = """
import signal
import typer
commands = typer.Typer()
{presses}
@commands.command()
def wait() -> None: "Wait."
@commands.command()
def stay() -> None: "Stay."
"""


@pytest.mark.clock
@pytest.mark.parametrize(("presses", "raised"), [(1, KeyboardInterrupt), (2, SystemExit)])
def test_ctrl_c_waits_until_a_command_is_imported_and_a_second_one_does_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, presses: int, raised: type[BaseException]
) -> None:
    """A library in C that is broken off while it loads raises another error, which would be told as a fault of ours."""
    press = "signal.raise_signal(signal.SIGINT)\n"
    (tmp_path / "pressed.py").write_text(PRESSED.format(presses=press * presses), encoding="utf-8")
    monkeypatch.setattr(cli, "__path__", [*cli.__path__, str(tmp_path)])
    monkeypatch.delitem(sys.modules, f"{PACKAGE}.pressed", raising=False)
    before = signal.getsignal(signal.SIGINT)
    commands = Commands({"wait": In("pressed", "Wait.")}, {})
    with pytest.raises(raised):
        commands["wait"]
    assert signal.getsignal(signal.SIGINT) is before
    assert (f"{PACKAGE}.pressed" in sys.modules) == (presses == 1)


@pytest.mark.clock
def test_whoever_hears_ctrl_c_already_still_hears_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "pressed.py").write_text(PRESSED.format(presses="signal.raise_signal(signal.SIGINT)"), encoding="utf-8")
    monkeypatch.setattr(cli, "__path__", [*cli.__path__, str(tmp_path)])
    monkeypatch.delitem(sys.modules, f"{PACKAGE}.pressed", raising=False)
    heard: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _frame: heard.append(number))
    try:
        assert Commands({"wait": In("pressed", "Wait.")}, {})["wait"].name == "wait"
    finally:
        signal.signal(signal.SIGINT, before)
    assert heard == [signal.SIGINT]


def test_commands_are_a_mapping_whose_names_import_nothing() -> None:
    commands = Commands({"one": In("none_such", "One."), "two": In("none_such", "Two.")}, {})
    assert list(commands) == ["one", "two"]
    assert "one" in commands
    assert "three" not in commands
    assert commands.get("three") is None
    assert commands.at_hand("one") is None
    with pytest.raises(ModuleNotFoundError):
        commands["one"]
    commands["three"] = get_command(app)  # type: ignore[assignment]
    del commands["one"]
    assert (list(commands), len(commands)) == (["two", "three"], 2)
