"""Farm files that are no plain files, and texts made to take for ever: refused as what they are, at once."""

from __future__ import annotations

import os
import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from routing.errors import FarmError
from routing.farm.faults import MOST_FAULTS, Faults
from routing.farm.folder import read_farm
from routing.farm.plain_files import NotPlainError, open_plain, read_plain
from routing.season.record_tables import read_records
from routing.weather.forecasts import with_forecast

from .conftest import FARM_TOML, JOBS_CSV, SITES_CSV

MOST_SECONDS = 1.0
GOOD = {
    "farm.toml": FARM_TOML,
    "sites.csv": SITES_CSV,
    "jobs.csv": JOBS_CSV,
    "drives.csv": "from,to,minutes\nbase,one,9\n",
    "weather.csv": "date,coldest_c,warmest_c,rain_mm,wind_kmh\n2026-06-01,9,18,0,10\n",
    "visits.csv": "date,site,kinds,crew,hives,minutes\n2026-05-01,one,heft,van,4,30\n",
    "driven.csv": "from,to,planned_minutes,minutes\nbase,one,9,10\n",
}


def a_socket(path: Path) -> None:
    before = Path.cwd()
    os.chdir(path.parent)  # the path of a socket may not be long
    try:
        with socket.socket(socket.AF_UNIX) as end:
            end.bind(path.name)
    finally:
        os.chdir(before)


def a_large_file(path: Path) -> None:
    path.write_bytes(b"")
    os.truncate(path, 10**12)


ODD: dict[str, tuple[Callable[[Path], object], str]] = {
    "pipe": (os.mkfifo, "it is a pipe, not a plain file"),
    "endless": (lambda path: path.symlink_to("/dev/zero"), "it is a device, not a plain file"),
    "nothing": (lambda path: path.symlink_to("/dev/null"), "it is a device, not a plain file"),
    "folder": (Path.mkdir, "it is a folder, not a plain file"),
    "socket": (a_socket, "it is a socket, not a plain file"),
    "loop": (lambda path: path.symlink_to(path.name), "Too many levels of symbolic links"),
    "no end": (lambda path: path.symlink_to("gone"), "is a link that leads to no file"),
    "made up": (
        lambda path: path.symlink_to("/proc/self/maps"),
        "it is made up by the system while it is read, not a plain file",
    ),
    "large": (a_large_file, "is larger than 5 million bytes"),
}


def refusal(folder: Path, changed: dict[str, str] | None = None) -> list[str]:
    """Return the lines that reading a folder of good files, but for those changed, gives; it takes under a second."""
    for name, text in {**GOOD, **(changed or {})}.items():
        if not os.path.lexists(folder / name):
            (folder / name).write_text(text)
    begun = time.process_time()
    try:
        with_forecast(read_farm(folder))
        read_records(folder)
    except FarmError as error:
        told = [str(fault) for fault in error.faults]
    else:
        told = []
    assert time.process_time() - begun < MOST_SECONDS
    return told


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("name", GOOD)
def test_what_is_no_plain_file_is_named_as_what_it_is(name: str, odd: str, tmp_path: Path) -> None:
    make, words = ODD[odd]
    make(tmp_path / name)
    told = refusal(tmp_path)
    assert len(told) == 1
    assert told[0].startswith(f"{name}: ")
    assert words in told[0]


@pytest.mark.parametrize("odd", ["pipe", "endless", "folder", "socket", "made up"])
def test_a_weather_json_or_a_road_map_that_is_no_plain_file_is_named(odd: str, tmp_path: Path) -> None:
    make, words = ODD[odd]
    make(tmp_path / "weather.json")
    make(tmp_path / "county.osm.pbf")
    for name, text in GOOD.items():
        if name != "weather.csv":
            (tmp_path / name).write_text(text)
    assert words in with_forecast(read_farm(tmp_path)).warnings[0].what
    (tmp_path / "farm.toml").write_text(FARM_TOML + '[roads]\nmap = "county.osm.pbf"\n')
    with pytest.raises(FarmError, match=f'map "county.osm.pbf" cannot be read: {words}; maps/README.md'):
        read_farm(tmp_path)


def test_a_name_that_no_file_can_have_is_no_plain_file() -> None:
    with pytest.raises(NotPlainError):
        open_plain(Path("a\0b"))


def test_only_so_much_is_read(tmp_path: Path) -> None:
    (tmp_path / "long").write_bytes(b"x" * 1000)
    assert read_plain(tmp_path / "long", 10) == b"x" * 11
    (tmp_path / "empty").write_bytes(b"")
    assert read_plain(tmp_path / "empty", 10) == b""


SPACES = " " * 40_000
DOTS = ".".join(["a"] * 20_000)
COLUMNS = ",".join(f"c{number}" for number in range(20_000))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (f"{DOTS} = 1\n", "farm.toml:1: has a key of more than 20 parts; look for stray dots"),
        (f"[{DOTS}]\n", "farm.toml:1: has a key of more than 20 parts"),
        (f"x = {{ {DOTS} = 1 }}\n", "farm.toml:1: has a key of more than 20 parts"),
        (f"# {DOTS}\n\"a\".'b'.{DOTS} = 1\n", "farm.toml:2: has a key of more than 20 parts"),
        (f"{SPACES}=1\n", "farm.toml:1: is not TOML"),
        (f"a{SPACES}b\n", "farm.toml:1: is not TOML"),
        ('"a" ' * 20_000 + "\n", "farm.toml:1: is not TOML"),
        ("x = " + "[" * 20_000 + "\n", "farm.toml: is nested too deeply to read"),
        (f'name = "{SPACES}x"\n', "farm.toml:1: name"),
    ],
)
def test_a_settings_file_made_to_take_for_ever_is_refused_at_once(text: str, words: str, tmp_path: Path) -> None:
    told = refusal(tmp_path, {"farm.toml": text + FARM_TOML})
    assert told[0].startswith(words)


def test_dots_in_texts_and_comments_are_no_keys(tmp_path: Path) -> None:
    text = f'# {DOTS}\n[[crew]]\nname = "{".".join("abcdefghijklmnopqrstuvwxyz")}"\n'
    told = refusal(tmp_path, {"farm.toml": text + FARM_TOML})
    assert told
    assert not [line for line in told if "parts" in line]


@pytest.mark.parametrize("name", [name for name in GOOD if name != "farm.toml"])
def test_a_table_of_twenty_thousand_columns_is_refused_at_once(name: str, tmp_path: Path) -> None:
    header, rest = GOOD[name].split("\n", 1)
    told = refusal(tmp_path, {name: f"{header},{COLUMNS}\n{rest}"})
    columns = header.count(",") + 20_001
    assert told == [f"{name}:1: has {columns:,} columns; at most 200 are read"]


HOSTILE_CELLS = {
    "spaces": f"x{SPACES}x",
    "spans": f"08:00{SPACES}-{SPACES}x",
    "hyphens": "-" * 40_000,
    "digits": "9" * 40_000,
    "words": "8 " * 20_000,
    "halves": "½" * 40_000,
    "degrees": "52°" * 15_000,
}


@pytest.mark.parametrize("cell", HOSTILE_CELLS)
@pytest.mark.parametrize("name", [name for name in GOOD if name != "farm.toml"])
def test_a_cell_made_to_take_for_ever_is_refused_at_once(name: str, cell: str, tmp_path: Path) -> None:
    """Each column of each table in turn: all that is said is a line or two, each shorter than a screen."""
    header, row = GOOD[name].split("\n")[:2]
    columns = header.split(",") + (["hours", "closed", "parking", "walking_minutes"] if name == "sites.csv" else [])
    values = [*row.split(","), *[""] * 4]
    for number in range(len(columns)):
        cells = [*values[:number], HOSTILE_CELLS[cell], *values[number + 1 :]][: len(columns)]
        (tmp_path / name).write_text(",".join(columns) + "\n" + ",".join(cells) + "\n")
        told = refusal(tmp_path)
        assert len(told) <= 4
        assert all(len(line) < 600 for line in told)


def test_of_very_many_faults_the_first_are_told_and_the_rest_counted(tmp_path: Path) -> None:
    keys = "".join(f"k{number} = 1\n" for number in range(5_000))
    told = refusal(tmp_path, {"farm.toml": f"{FARM_TOML}[stock]\n{keys}"})
    assert len(told) == MOST_FAULTS
    faults = Faults()
    for number in range(MOST_FAULTS + 7):
        faults.add("a.csv", number + 1, "is wrong")
    assert str(faults.in_order(("a.csv",))[-1]) == "a.csv: 6 more faults are not told"
    assert faults.stopping == MOST_FAULTS + 7
