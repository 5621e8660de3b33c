"""The share command: what is asked for is written, whole, and nothing else; what cannot be is told in one line."""

import getpass
import io
import json
import re
import warnings
from importlib import resources
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from routing.cli import share_passphrase
from routing.cli.app import app
from routing.season.log import Log
from tests.share.test_locked import PASSPHRASE, unlocked
from tests.share.test_named_again import report_of

FARM = """
name = "Harebell Bees"
time_zone = "Europe/London"

[base]
name = "The Yard"
place = "52.6100, -2.9500"

[[vehicle]]
id = "van"
name = "Van"
payload_kg = 500
space_litres = 2000

[[crew]]
id = "alder"
name = "Alder"
people = 1
vehicle = "van"
earliest_start = "07:30"
home_by = "17:00"
"""

SITES = """id,name,place,hives,gate_code,phone,private_notes
mill,Mill Bank,"52.6300, -2.9300",6,4471,01632 960111,Key under the third stone
quarry,Quarry Top,"52.5900, -2.9900",4,,,
"""

JOBS = """site,kind,rank
mill,fondant,must
quarry,fondant,want
"""

KINDS = ("--gpx", "round.gpx"), ("--ical", "round.ics"), ("--geojson", "round.geojson"), ("--csv", "table.csv")
SECRETS = ("4471", "960111", "third stone")


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    folder = tmp_path / "farm"
    folder.mkdir()
    for name, text in (("farm.toml", FARM), ("sites.csv", SITES), ("jobs.csv", JOBS)):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def share(*arguments: object, given: str = "") -> Result:
    return CliRunner().invoke(app, ["share", *(str(each) for each in arguments)], input=given)


def all_kinds(folder: Path) -> list[object]:
    return [part for option, name in KINDS for part in (option, folder / name)]


def test_every_kind_is_written_and_named_in_the_order_asked(farm: Path, tmp_path: Path) -> None:
    out = tmp_path / "away"
    result = share(farm, "--on", "2026-12-10", *all_kinds(out))
    assert result.exit_code == 0, result.output
    assert result.stdout.split() == [str(out / name) for _, name in KINDS]
    assert sorted(path.name for path in out.iterdir()) == sorted(name for _, name in KINDS)
    assert sorted(path.name for path in farm.iterdir()) == [".written", "farm.toml", "jobs.csv", "sites.csv"]
    assert all("Mill Bank" in (out / name).read_text(encoding="utf-8") for _, name in KINDS)


def test_the_same_farm_gives_the_same_bytes_over_old_files_too(farm: Path, tmp_path: Path) -> None:
    contents = []
    for _ in range(2):
        assert share(farm, "--on", "2026-12-10", *all_kinds(tmp_path)).exit_code == 0
        contents.append([(tmp_path / name).read_bytes() for _, name in KINDS])
    assert contents[0] == contents[1]


def test_gate_codes_phones_and_private_notes_leave_only_when_asked(farm: Path, tmp_path: Path) -> None:
    share(farm, "--on", "2026-12-10", *all_kinds(tmp_path))
    for _, name in KINDS:
        assert not any(secret in (tmp_path / name).read_text(encoding="utf-8") for secret in SECRETS)
    share(farm, "--on", "2026-12-10", "--with-private", *all_kinds(tmp_path))
    for _, name in KINDS:
        text = (tmp_path / name).read_text(encoding="utf-8").replace("\n ", "")
        assert all(secret in text for secret in SECRETS)


def test_a_saved_round_is_shared_as_it_was_planned(farm: Path, tmp_path: Path) -> None:
    CliRunner().invoke(app, ["plan", str(farm), "--on", "2026-12-10"])
    saved = farm / "rounds" / "2026-12-10" / "round.json"
    assert share(farm, "--round", saved, "--csv", tmp_path / "saved.csv").exit_code == 0
    share(farm, "--on", "2026-12-10", "--csv", tmp_path / "planned.csv")
    assert (tmp_path / "saved.csv").read_bytes() == (tmp_path / "planned.csv").read_bytes()


def test_a_saved_round_that_no_longer_holds_is_refused_before_anything_is_written(farm: Path, tmp_path: Path) -> None:
    CliRunner().invoke(app, ["plan", str(farm), "--on", "2026-12-10"])
    saved = farm / "rounds" / "2026-12-10" / "round.json"
    (farm / "sites.csv").write_text(SITES.replace("-2.9300", "-2.9000"), encoding="utf-8")
    result = share(farm, "--round", saved, "--csv", tmp_path / "saved.csv")
    assert result.exit_code == 2
    assert "does not hold for the farm as it is now; plan it again" in result.stderr
    assert "mill" in result.stderr
    assert not (tmp_path / "saved.csv").exists()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "not a saved round"),
        (b"{}", "not a saved round"),
        (b"[1, 2]", "not a saved round"),
        (b"\xff\xfe", "not UTF-8 text"),
        (b'{"farm": "\\ud800"}', "not a saved round"),
        (None, "No such file"),
    ],
)
def test_what_is_no_saved_round_is_told_in_a_line(
    farm: Path, tmp_path: Path, content: bytes | None, words: str
) -> None:
    saved = tmp_path / "round.json"
    if content is not None:
        saved.write_bytes(content)
    result = share(farm, "--round", saved, "--gpx", tmp_path / "x.gpx")
    assert result.exit_code == 2
    assert words in result.stderr
    assert not (tmp_path / "x.gpx").exists()


def test_a_saved_round_with_a_field_too_many_is_refused(farm: Path, tmp_path: Path) -> None:
    CliRunner().invoke(app, ["plan", str(farm), "--on", "2026-12-10"])
    saved = farm / "rounds" / "2026-12-10" / "round.json"
    whole = json.loads(saved.read_text(encoding="utf-8"))
    saved.write_text(json.dumps({**whole, "extra": 1}), encoding="utf-8")
    result = share(farm, "--round", saved, "--gpx", tmp_path / "x.gpx")
    assert (result.exit_code, "extra" in result.stderr) == (2, True)


def test_a_hostile_saved_round_does_not_reach_the_terminal(farm: Path, tmp_path: Path) -> None:
    CliRunner().invoke(app, ["plan", str(farm), "--on", "2026-12-10"])
    saved = farm / "rounds" / "2026-12-10" / "round.json"
    whole = json.loads(saved.read_text(encoding="utf-8"))
    for bad in ({**whole, "farm": "\x1b[2J\u202ex" * 500}, {**whole, "\x1b[2J" * 200: 1}):
        saved.write_text(json.dumps(bad), encoding="utf-8")
        result = share(farm, "--round", saved, "--gpx", tmp_path / "x.gpx")
        assert result.exit_code == 2
        assert not {"\x1b", "\u202e"} & set(result.output)
        assert max(len(line) for line in result.stderr.splitlines()) < 400


def test_times_and_numbers_beyond_any_calendar_are_told_in_a_line(farm: Path, tmp_path: Path) -> None:
    CliRunner().invoke(app, ["plan", str(farm), "--on", "2026-12-10"])
    saved = farm / "rounds" / "2026-12-10" / "round.json"
    for field, value in (("leave", "9999-12-31T23:59:59-14:00"), ("home", "0001-01-01T00:00:00+14:00")):
        whole = json.loads(saved.read_text(encoding="utf-8"))
        whole["itineraries"][0][field] = value
        (tmp_path / "bad.json").write_text(json.dumps(whole), encoding="utf-8")
        result = share(farm, "--round", tmp_path / "bad.json", "--gpx", tmp_path / "x.gpx")
        assert (result.exit_code, "plan it again" in result.stderr) == (2, True)
    assert not (tmp_path / "x.gpx").exists()


@pytest.mark.parametrize("where", [".", "..", "away/..", "/"])
def test_a_path_that_names_no_file_is_refused(farm: Path, where: str) -> None:
    result = share(farm, "--on", "2026-12-10", "--gpx", where)
    assert (result.exit_code, "names no file" in result.stderr) == (2, True)


def test_a_folder_in_the_place_of_a_file_is_told_and_nothing_is_written(farm: Path, tmp_path: Path) -> None:
    (tmp_path / "x.gpx").mkdir()
    result = share(farm, "--on", "2026-12-10", "--csv", tmp_path / "x.csv", "--gpx", tmp_path / "x.gpx")
    assert (result.exit_code, "cannot write" in result.stderr) == (2, True)
    assert not (tmp_path / "x.csv").exists()


@pytest.mark.parametrize("name", ["sites.csv", "jobs.csv", "farm.toml"])
def test_no_file_of_the_farm_is_written_over(farm: Path, name: str) -> None:
    before = (farm / name).read_bytes()
    result = share(farm, "--on", "2026-12-10", "--csv", farm / "rounds" / ".." / name)
    assert result.exit_code == 2
    assert "over a file of the farm folder" in result.stderr
    assert (farm / name).read_bytes() == before


def test_an_own_table_in_the_farm_folder_is_replaced(farm: Path) -> None:
    for _ in range(2):
        assert share(farm, "--on", "2026-12-10", "--csv", farm / "table.csv").exit_code == 0


def test_two_kinds_in_one_file_and_nothing_at_all_are_refused(farm: Path, tmp_path: Path) -> None:
    same = share(farm, "--on", "2026-12-10", "--csv", tmp_path / "x", "--gpx", tmp_path / "." / "x")
    assert (same.exit_code, "the same" in same.stderr) == (2, True)
    nothing = share(farm, "--on", "2026-12-10")
    assert (nothing.exit_code, "nothing to share" in nothing.stderr) == (2, True)
    assert not (tmp_path / "x").exists()


def test_the_saved_round_itself_is_not_written_over(farm: Path) -> None:
    CliRunner().invoke(app, ["plan", str(farm), "--on", "2026-12-10"])
    saved = farm / "rounds" / "2026-12-10" / "round.json"
    result = share(farm, "--round", saved, "--geojson", saved)
    assert (result.exit_code, "over the saved round" in result.stderr) == (2, True)


def test_locked_pages_open_with_the_passphrase_from_standard_input(farm: Path, tmp_path: Path) -> None:
    result = share(farm, "--on", "2026-12-10", "--lock", "--out", tmp_path / "away", given=f"{PASSPHRASE}\r\n")
    assert result.exit_code == 0, result.output
    names = sorted(path.name for path in (tmp_path / "away").iterdir())
    assert names == ["locked-1.html"]  # one crew, one day
    for name in names:
        locked = (tmp_path / "away" / name).read_text(encoding="utf-8")
        assert "Mill Bank" not in locked
        assert "Mill Bank" in unlocked(locked, PASSPHRASE)
    assert PASSPHRASE not in result.output


def test_the_passphrase_may_come_from_the_environment(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(share_passphrase.ASKED_OF, PASSPHRASE)
    assert share(farm, "--on", "2026-12-10", "--lock").exit_code == 0
    locked = (farm / "rounds" / "2026-12-10" / "locked-1.html").read_text(encoding="utf-8")
    assert "Mill Bank" in unlocked(locked, PASSPHRASE)


def test_a_weak_passphrase_stops_it_and_a_short_one_is_advised_against(farm: Path, tmp_path: Path) -> None:
    for weak in ("", "abc\n", "aaaaaaaaaaaa\n", "heather5\n", "Summer2024!\n", "Mill Bank Harebell\n"):
        result = share(farm, "--on", "2026-12-10", "--lock", "--gpx", tmp_path / "x.gpx", given=weak)
        assert (result.exit_code, "too weak" in result.stderr) == (2, True)
    assert not (tmp_path / "x.gpx").exists()
    result = share(farm, "--on", "2026-12-10", "--lock", given="kV7#xq2Rw!9z\n")
    assert (result.exit_code, "fewer than 15 characters" in result.stderr) == (0, True)


def test_beside_a_lock_the_other_files_are_said_to_be_open(farm: Path, tmp_path: Path) -> None:
    result = share(farm, "--on", "2026-12-10", "--lock", "--gpx", tmp_path / "x.gpx", given=PASSPHRASE)
    assert f"note: {tmp_path / 'x.gpx'} is not locked" in result.stderr


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("answers", "fault"), [((PASSPHRASE, PASSPHRASE), ""), ((PASSPHRASE, "other words here"), "differ")]
)
def test_on_a_terminal_it_is_asked_twice_and_unseen(
    monkeypatch: pytest.MonkeyPatch, answers: tuple[str, str], fault: str
) -> None:
    monkeypatch.setattr("sys.stdin", Terminal())
    asked: list[str] = []

    def unseen(prompt: str) -> str:
        asked.append(prompt)
        return answers[len(asked) - 1]

    monkeypatch.setattr(getpass, "getpass", unseen)
    if fault:
        with pytest.raises(ValueError, match=fault):
            share_passphrase.given_passphrase()
    else:
        assert share_passphrase.given_passphrase() == PASSPHRASE
    assert asked == ["Passphrase (it cannot be recovered if forgotten): ", "The same again: "]


def test_a_terminal_that_would_show_it_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", Terminal())

    def seen(_prompt: str) -> str:
        warnings.warn("echo", getpass.GetPassWarning, stacklevel=2)
        return PASSPHRASE

    monkeypatch.setattr(getpass, "getpass", seen)
    with pytest.raises(ValueError, match="cannot take a passphrase unseen"):
        share_passphrase.given_passphrase()


def test_no_option_takes_a_passphrase() -> None:
    help_text = CliRunner().invoke(app, ["share", "--help"]).output
    assert "--lock" in help_text
    assert "--passphrase" not in help_text
    assert "--password" not in help_text
    assert resources.files("routing.share").joinpath("templates", "locked.html").is_file()


def test_a_report_from_a_locked_page_with_nicknames_is_logged_under_the_true_names(farm: Path, tmp_path: Path) -> None:
    result = share(farm, "--on", "2026-11-25", "--lock", "--nicknames", "--out", tmp_path / "away", given=PASSPHRASE)
    assert result.exit_code == 0, result.output
    page = unlocked((tmp_path / "away" / "locked-1.html").read_text(encoding="utf-8"), PASSPHRASE)
    text = report_of(page).replace("2024-12-18", "2026-11-25")
    for told in (page, text):
        assert not re.search(r"mill(?!i)|quarry", told, re.IGNORECASE)  # millilitres are numbers of the load
    (tmp_path / "report.txt").write_text(text, encoding="utf-8")
    logged = CliRunner().invoke(app, ["done", str(farm), str(tmp_path / "report.txt"), "--log"])
    assert logged.exit_code == 0, logged.output
    assert "Written to the log: 2 new" in logged.output
    assert "warning" not in logged.output
    entries = Log.record_of(farm).entries
    assert {(entry.site, entry.kind, entry.crew, entry.hives) for entry in entries} == {
        ("mill", "fondant", "alder", 6),
        ("quarry", "fondant", "alder", 4),
    }


@pytest.mark.parametrize("kind", [kind for kind, _ in KINDS])
def test_under_nicknames_no_file_tells_a_name_nor_an_id(farm: Path, tmp_path: Path, kind: str) -> None:
    sites = SITES.replace("quarry,", "long-quarry,").replace(
        "Key under the third stone", "KEY AT THE QUARRY-TOP or millbank"
    )
    (farm / "sites.csv").write_text(sites, encoding="utf-8")
    (farm / "jobs.csv").write_text(JOBS.replace("quarry,", "long-quarry,"), encoding="utf-8")
    for extra in ((), ("--with-private",)):
        assert share(farm, "--on", "2026-12-10", "--nicknames", *extra, kind, tmp_path / "file").exit_code == 0
        text = (tmp_path / "file").read_text(encoding="utf-8").replace("\n ", "")
        assert "Site A" in text
        assert not re.search(r"mill|quarry", text, re.IGNORECASE)
