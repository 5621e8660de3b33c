"""What nobody foresaw ends in one sentence, a report without a private word and exit code 3; 1 means no alone."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing import __main__ as program
from routing.cli.app import app
from routing.cli.fault_report import ONLY_READING, Asked, report_text, sentence
from tests.every_command import every_command

EXAMPLE = Path(__file__).parents[1] / "examples" / "four-sites"
JUNE = "2026-06-10"
PRIVATE = "gate 4711 at Mill, 52.31, -2.5, +44 7700 900123"


class Panic(BaseException):
    """Stands for what libraries in Rust raise when they fail: no Exception."""


ON_LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="needs the devices of Linux")


def ended(monkeypatch: pytest.MonkeyPatch, *words: object) -> int:
    """Run the program as from a shell and return its exit code."""
    monkeypatch.setattr(sys, "argv", ["outyard", *(str(word) for word in words)])
    with pytest.raises(SystemExit) as caught:
        program.main()
    assert isinstance(caught.value.code, int)
    return caught.value.code


def failing(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Make the reading of a farm fail as nobody foresaw."""

    def fail(_folder: Path) -> None:
        raise error

    monkeypatch.setattr("routing.stages.read.read_farm", fail)


def in_shell(words: str) -> subprocess.CompletedProcess[str]:
    """Run the program by a line of the shell, `outyard` standing for it."""
    line = f'set -o pipefail; outyard() {{ "{sys.executable}" -m routing "$@"; }}; {words}'
    return subprocess.run(
        ["bash", "-c", line], cwd=EXAMPLE.parents[1], capture_output=True, text=True, check=False, timeout=120
    )


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (ValueError(PRIVATE), "a fault of its own (ValueError)"),
        (KeyError(PRIVATE), "a fault of its own (KeyError)"),
        (MemoryError(PRIVATE), "memory of this computer was not enough"),
        (RecursionError(PRIVATE), "nested more deeply"),
        (OSError(28, PRIVATE, PRIVATE), "No space left on device"),
        (Panic(PRIVATE), "a fault of its own (Panic)"),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, BaseException) else "",
)
def test_what_nobody_foresaw_is_one_sentence_a_report_and_exit_code_3(
    error: BaseException,
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Neither the sentence nor the report quotes the error, the folder or what was given for an option."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    failing(monkeypatch, error)
    assert ended(monkeypatch, "fit", "/home/rowan/Mill", "--on=2026-06-10", "--gate-4711") == 2
    capsys.readouterr()
    assert ended(monkeypatch, "fit", "/home/rowan/Mill", "--on=2026-06-10", "--json") == 3
    printed, errors = capsys.readouterr()
    (report,) = tmp_path.glob("outyard-fault-*.txt")
    assert printed == ""
    assert errors.count("\n") == 1
    assert told in errors
    assert "nothing that you wrote down was changed" in errors
    assert str(report) in errors
    text = report.read_text(encoding="utf-8")
    assert report.stat().st_mode & 0o077 == 0
    assert "command: fit\noptions: --on --json\n" in text
    assert f"error: {type(error).__module__}.{type(error).__qualname__}\n" in text
    assert re.search(r"^  routing\.cli\.farms:\d+$", text, re.MULTILINE)
    for word in (PRIVATE, "4711", "Mill", "rowan", "2026-06-10", str(tmp_path)):
        assert word not in text
    assert "4711" not in errors
    assert "rowan" not in errors


def test_a_command_that_may_have_written_does_not_say_that_nothing_was_changed() -> None:
    told = sentence(ValueError(), Asked("plan", ("--on",)), None)
    assert "whether it had written anything by then is not known" in told
    assert "no report of it could be written" in told


def test_errors_that_an_error_came_of_are_told_by_kind_alone() -> None:
    error = ValueError(PRIVATE)
    error.__cause__ = KeyError(PRIVATE)
    text = report_text(error, Asked())
    assert "error: builtins.ValueError\n\ncaused by: builtins.KeyError\n" in text
    assert "command: not known\noptions: none\n" in text
    assert "4711" not in text


def test_a_command_is_told_as_far_as_its_words_are_ours(monkeypatch: pytest.MonkeyPatch) -> None:
    """`due FOLDER` is its list; a folder that is called like a command is not told as one."""
    every_command()  # imports each
    for words, command, options in (
        (["due", "log", "--on", "today"], "due", ("--on",)),
        (["log", "add", "add", "--site=Mill", "--note", "--hives"], "log add", ("--site", "--note", "--hives")),
        (["weather", "show", "F"], "weather show", ()),
        (["Mill", "--gate-4711"], "", ()),
        ([], "", ()),
    ):
        monkeypatch.setattr(sys, "argv", ["outyard", *words])
        assert program._asked() == Asked(command, options)


def test_a_broken_installation_is_a_fault_of_the_program_and_no_no(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delattr("routing.cli.app")
    monkeypatch.setitem(sys.modules, "routing.cli.app", None)
    assert ended(monkeypatch, "fit", EXAMPLE) == 3
    assert "ModuleNotFoundError" in capsys.readouterr().err


def test_a_broken_library_of_one_command_is_told_and_not_tried_again(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The report names the command; what options it has is not known, since its file could not be read."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.delitem(sys.modules, "routing.cli.look", raising=False)
    monkeypatch.setitem(sys.modules, "routing.cli.farms", None)
    assert ended(monkeypatch, "read", EXAMPLE, "--gate-4711") == 3
    assert "ModuleNotFoundError" in capsys.readouterr().err
    (report,) = tmp_path.glob("outyard-fault-*.txt")
    text = report.read_text(encoding="utf-8")
    assert "command: read\noptions: not known\n" in text
    assert "4711" not in text
    assert ended(monkeypatch, "--help") == 0


def test_a_report_that_cannot_be_made_does_not_keep_the_sentence_back(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where memory ran out, making the report may run out of it again."""

    def fail(*_: object) -> str:
        raise MemoryError

    monkeypatch.setattr(program, "report_text", fail)
    failing(monkeypatch, MemoryError())
    assert ended(monkeypatch, "read", EXAMPLE) == 3
    assert capsys.readouterr().err == (
        "The memory of this computer was not enough for it; nothing that you wrote down was changed, since outyard read "
        "only reads; no report of it could be written.\n"
    )


def test_ctrl_c_is_130_and_nobody_who_reads_141(monkeypatch: pytest.MonkeyPatch) -> None:
    failing(monkeypatch, KeyboardInterrupt())
    assert ended(monkeypatch, "read", EXAMPLE) == 130
    failing(monkeypatch, EOFError())  # the end of what is typed at a question
    assert ended(monkeypatch, "read", EXAMPLE) == 130
    failing(monkeypatch, BrokenPipeError(32, "Broken pipe"))
    assert ended(monkeypatch, "read", EXAMPLE) == 141
    failing(monkeypatch, SystemExit(7))
    assert ended(monkeypatch, "read", EXAMPLE) == 7


def test_a_folder_that_is_not_there_is_2_and_help_0(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert ended(monkeypatch, "read", tmp_path / "none") == 2
    assert ended(monkeypatch, "read", "--nothing-like-it") == 2
    assert ended(monkeypatch, "--help") == 0
    assert ended(monkeypatch, "read", EXAMPLE) == 0


def test_what_a_terminal_would_obey_is_refused_and_never_told_again(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ended(monkeypatch, "read", "a\x1b[31m") == 2
    assert capsys.readouterr().err == (
        "the command has a word with the character \\x1b, which no screen shows: write it without\n"
    )
    assert ended(monkeypatch, "log", "list", "none", "--site", "two\nlines\tand more") == 2
    assert "none" in capsys.readouterr().err


@ON_LINUX
def test_a_name_that_is_no_text_is_printed_all_the_same(tmp_path: Path) -> None:
    """A folder named in bytes of another encoding: what is printed of it has escapes, and nothing fails."""
    done = in_shell(f"cd {tmp_path}; PYTHONPATH={EXAMPLE.parents[1]} outyard new $'caf\\xe9'")
    assert done.returncode == 0, done.stderr
    assert "caf\\udce9" in done.stdout


@ON_LINUX
def test_what_a_library_prints_by_itself_is_not_in_the_answer() -> None:
    """HiGHS does, in a long search, whatever it is told; so a document of `--json` began with its lines."""
    noisy = (
        "import os; from routing import __main__ as program; import routing.cli.app as cli; "
        "cli.app = lambda: (os.write(1, b'noise\\n'), print('{}', flush=True), os.write(1, b'noise\\n')); "
        "program.main()"
    )
    ran = subprocess.run([sys.executable, "-c", noisy], capture_output=True, text=True, check=False, timeout=120)
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, "{}\n", "")


def test_output_that_is_cut_off_full_or_closed() -> None:
    """`| head` ends with 141 and no word; a full disk is told; a closed output is no fault."""
    cut = in_shell("outyard schema | true")
    assert (cut.returncode, cut.stderr) == (141, "")
    full = in_shell(f"outyard fit examples/four-sites --on {JUNE} > /dev/full")
    assert full.returncode == 3
    assert full.stderr.startswith("The computer refused")
    assert "No space left on device" in full.stderr
    assert "Traceback" not in full.stderr
    assert in_shell("outyard read examples/four-sites >&- 2>&- <&-").returncode == 0
    assert in_shell("outyard done examples/four-sites - <&-").returncode == 2


@pytest.fixture(scope="module")
def with_log_and_round(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a farm with a log and a round, to be copied."""
    farm = shutil.copytree(
        EXAMPLE, tmp_path_factory.mktemp("guard") / "farm", ignore=shutil.ignore_patterns("rounds", ".*")
    )
    logged = ("--site", "A", "--kind", "heft", "--on", "2026-06-01", "--stores-kg", "9")
    for words in (("log", "add", str(farm), *logged), ("plan", str(farm), "--on", JUNE)):
        assert CliRunner().invoke(app, words).exit_code == 0
    return farm


@pytest.mark.parametrize(
    "words",
    [
        *("read F", "kinds F", "light F --on D", "fit F --on D", "chance F --on D", "learned F", "schema"),
        *("explain F A --on D", "try F --order A,B --on D"),
        *("what-if F --start 09:00 --on D", "weather show F", "log list F", "due F --on D", "due list F --on D"),
        *("feed F --on D", "compare R R"),
    ],
)
def test_what_is_said_to_read_only_changes_nothing(
    words: str,
    with_log_and_round: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Every file of a farm with a log and a round is byte for byte as it was."""
    farm = shutil.copytree(with_log_and_round, tmp_path / "farm")
    there = {"F": farm, "D": JUNE, "R": farm / "rounds" / JUNE / "round.json"}
    before = _contents(farm)
    capsys.readouterr()
    assert ended(monkeypatch, *(there.get(word, word) for word in words.split())) in {0, 1}, capsys.readouterr().err
    assert _contents(farm) == before
    assert " ".join(word for word in words.split(" ")[:2] if word in {"weather", "show", "log", "list", "due"}) in {
        "",
        *ONLY_READING,
    }


def _contents(folder: Path) -> dict[Path, bytes]:
    beside = ("-wal", "-shm")  # of the database, which comes and goes with whoever reads
    files = (path for path in folder.rglob("*") if path.is_file() and not path.name.endswith(beside))
    return {path: path.read_bytes() for path in files}
