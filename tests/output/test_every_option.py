"""Every option of every command that names a place for output, found by looking: nothing of the farmer's is lost by it."""

from __future__ import annotations

import inspect
import os
import shutil
import sqlite3
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import get_args, get_type_hints

import pytest
from typer.models import OptionInfo
from typer.testing import CliRunner, Result

from routing.cli.app import app
from routing.cli.share_passphrase import ASKED_OF
from routing.farm.sources import BOOKS
from routing.output.places import RESERVED
from tests.every_command import every_command
from tests.together import then_deep

FOUR_SITES = Path(__file__).parents[2] / "examples" / "four-sites"
DATE = "2025-12-03"
"""Two days after the log begins, when little is due yet."""
pytestmark = pytest.mark.usefixtures("few_key_rounds")

PASSPHRASE = "quiet willow sundial basket"  # noqa: S105 -- of a test

READ_ONLY = {("done", "--round"), ("new", "--from"), ("share", "--round")}
"""Options that name something to be read."""
ARGUMENTS = {"folder", "file", "old", "new"}
"""Arguments that are paths: the farm, or something to be read. `new FOLDER` has tests of its own."""
BESIDE = {("share", "--out"): ("--lock",)}
"""What an option needs beside it to write anything."""


@dataclass(frozen=True)
class Parameter:
    """An option, `--out`, or an argument, by its plain name."""

    name: str
    help: str
    is_path: bool


def commands() -> Iterator[tuple[tuple[str, ...], list[Parameter]]]:
    """Return every command of the program with its words and parameters, as it was declared."""
    for words, command in every_command().items():
        assert command.callback is not None
        hints = get_type_hints(inspect.unwrap(command.callback), include_extras=True)
        yield words, [parameter(each, hint) for each, hint in hints.items() if each != "return"]


def parameter(name: str, hint: object) -> Parameter:
    kind, info = get_args(hint)
    declared = [each for each in (info.default, *(info.param_decls or ())) if str(each).startswith("--")]
    called = (declared or [f"--{name.replace('_', '-')}"])[0] if isinstance(info, OptionInfo) else name
    return Parameter(called, info.help or "", Path in leaves(kind))


def leaves(kind: object) -> set[object]:
    """Return the plain types in a type such as `list[Path] | None`."""
    return {kind}.union(*map(leaves, get_args(kind)))


EVERY = dict(commands())
OUTPUTS = [
    (words, parameter.name)
    for words, parameters in EVERY.items()
    for parameter in parameters
    if parameter.name.startswith("-") and parameter.is_path and (words[-1], parameter.name) not in READ_ONLY
]


def test_the_options_that_are_known_are_found() -> None:
    found = {(" ".join(words), option) for words, option in OUTPUTS}
    exports = {("share", option) for option in ("--gpx", "--ical", "--geojson", "--csv", "--xlsx", "--out")}
    assert found >= {("plan", "--out"), ("season", "--out"), ("log export", "--out")} | exports


def test_no_option_takes_a_place_for_output_as_plain_text() -> None:
    sayings = ("this file", "The file", "Where to write")
    for words, parameters in EVERY.items():
        for each in parameters:
            assert each.is_path or not any(saying in each.help for saying in sayings), (words, each.name)


def test_no_argument_is_a_place_for_output_but_that_of_new() -> None:
    for words, parameters in EVERY.items():
        paths = {each.name for each in parameters if each.is_path and not each.name.startswith("-")}
        assert paths <= ARGUMENTS, words


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    folder = shutil.copytree(FOUR_SITES, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds", ".*"))
    run("log", "add", folder, "--site", "A", "--kind", "heft", "--on", "2025-12-01", "--stores-kg", "15")
    for name in RESERVED:
        if not (folder / name).exists() and not name.startswith(("visits", "driven", "weather", ".", "log", *BOOKS)):
            (folder / name).write_text("")
    return folder


def run(*words: object) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words], env={ASKED_OF: PASSPHRASE})


def ask(command: tuple[str, ...], farm: Path, option: str, path: Path, *more: str) -> Result:
    """Run a command with an output option that names a path."""
    on = ("--on", DATE) if any(each.name == "--on" for each in EVERY[command]) else ()
    return run(*command, farm, *on, option, path, *BESIDE.get((command[-1], option), ()), *more)


def never(farm: Path, tmp_path: Path, reserved: Iterable[str]) -> Iterator[Path]:
    """Make what no output may ever take the place of, and return the paths."""
    yield from (farm / name for name in reserved)
    yield farm / "log-before-mending-2026-11-28.sqlite"
    yield farm / "SITES.CSV"
    yield farm / "rounds" / ".." / "sites.csv"
    yield farm
    yield tmp_path
    (farm / "county.osm.pbf").write_bytes(b"a map")
    yield farm / "county.osm.pbf"
    other = tmp_path / "other-farm"
    shutil.copytree(FOUR_SITES, other, ignore=shutil.ignore_patterns("rounds", ".*"))
    yield other / "jobs.csv"
    yield other
    (tmp_path / "photos" / "may").mkdir(parents=True)
    (tmp_path / "photos" / "may" / "hive.jpg").write_bytes(b"picture")
    yield tmp_path / "photos"
    (tmp_path / "target").write_text("kept")
    (tmp_path / "link").symlink_to("target")
    (tmp_path / "dangling").symlink_to("nowhere")
    (tmp_path / "to-photos").symlink_to("photos")
    (farm / "way-out").symlink_to(tmp_path / "photos")
    yield from (tmp_path / name for name in ("link", "dangling", "to-photos"))
    yield farm / "way-out" / "new"
    os.link(farm / "sites.csv", tmp_path / "second-name.csv")
    yield tmp_path / "second-name.csv"
    os.mkfifo(tmp_path / "pipe")
    yield tmp_path / "pipe"
    device = tmp_path / "device"
    try:
        os.mknod(device, stat.S_IFCHR | 0o666, os.makedev(1, 3))
    except OSError:  # only for those who may
        device = Path("/dev/null")
    yield device


def held_open(farm: Path) -> sqlite3.Connection:
    """Return another program's connection to the log, with entries that are in the write-ahead log alone."""
    connection = sqlite3.connect(farm / "log.sqlite")
    connection.execute("select count(*) from sqlite_master").fetchall()
    added = run("log", "add", farm, "--site", "B", "--kind", "heft", "--on", "2025-12-02", "--stores-kg", "15")
    assert added.exit_code == 0, added.output
    assert (farm / "log.sqlite-wal").stat().st_size
    return connection


def everything(folder: Path) -> dict[str, tuple[object, ...]]:
    """Return what stands below a folder: number, mode, and content or target."""
    found: dict[str, tuple[object, ...]] = {}
    for path in (folder, *sorted(folder.rglob("*"))):
        facts = path.lstat()
        counts = stat.S_ISREG(facts.st_mode) and not path.name.endswith("-shm")  # which readers of the log change too
        content = path.read_bytes() if counts else b""
        target = str(path.readlink()) if stat.S_ISLNK(facts.st_mode) else ""
        found[str(path.relative_to(folder))] = (facts.st_ino, facts.st_mode, content, target)
    return found


@pytest.mark.parametrize(
    ("command", "option", "reserved"),
    then_deep(
        [(*output, RESERVED[number % 2 :: 2]) for number, output in enumerate(OUTPUTS)],
        [(*output, RESERVED) for output in OUTPUTS],
    ),
    ids=[f"{' '.join(c)} {o}{all_names}" for all_names in ("", " all names") for c, o in OUTPUTS],
)
def test_nothing_of_the_farmers_is_lost_by_any_output_option(
    command: tuple[str, ...],
    option: str,
    reserved: tuple[str, ...],
    farm: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    request: pytest.FixtureRequest,
) -> None:
    """Even with --replace, which only ever allows more; the write-ahead log is held open, as by another program.

    Each name that belongs to the farm is given to every other option, and all to each in the deep ones.
    """
    paths = list(never(farm, tmp_path, reserved))
    request.addfinalizer(held_open(farm).close)
    monkeypatch.chdir(tmp_path / "photos")
    before = everything(tmp_path)
    for path in (*paths, Path(), Path("..")):
        result = ask(command, farm, option, path, "--replace")
        assert result.exit_code == 2, (path, result.output, result.exception)
        assert result.exception is None or isinstance(result.exception, SystemExit), path
        assert len(result.stderr.splitlines()) == 1, result.stderr
        assert option in result.stderr, (path, result.stderr)
        assert everything(tmp_path) == before, path


@pytest.mark.parametrize(("command", "option"), OUTPUTS, ids=[f"{' '.join(c)} {o}" for c, o in OUTPUTS])
def test_a_free_place_is_written_and_again_but_not_where_the_farmer_changed_it(
    command: tuple[str, ...], option: str, farm: Path, tmp_path: Path
) -> None:
    place = tmp_path / "out" / "place"
    for _ in range(2):
        result = ask(command, farm, option, place)
        assert result.exit_code == 0, result.output
    changed = min(place.iterdir()) if place.is_dir() else place
    changed.write_text("the farmer's own")
    refused = ask(command, farm, option, place)
    assert (refused.exit_code, "--replace" in refused.stderr) == (2, True)
    assert changed.read_bytes() == b"the farmer's own"
    assert ask(command, farm, option, place, "--replace").exit_code == 0
    assert changed.read_bytes() != b"the farmer's own"
