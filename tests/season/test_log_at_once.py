"""Two writers at once, a kill at any moment and a disk that takes no more: nothing that was told as written is lost."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from routing.season.log import Log

WRITER = """
import sys
from pathlib import Path
from routing.season.entries import Entry
from routing.season.log import Log
folder, name, how_many = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
log = Log.open(folder)
for number in range(how_many):
    log.add(Entry(reference=f"{name}-{number}", date="2026-01-01", site=name, kind="heft", materials={"fondant": 1}, seen=("lid-off",)))
    print(number, flush=True)
"""
BIG_WRITER = WRITER.replace('kind="heft"', 'kind="heft", note="x" * 9000')


def start(folder: Path, name: str, how_many: int, script: str = WRITER) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", script, str(folder), name, str(how_many)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def whole(folder: Path) -> set[str]:
    """Return the references of all entries, each of which must have kept what belongs to it."""
    entries = Log.open(folder).record().entries
    assert all(entry.materials == {"fondant": 1.0} and entry.seen == ("lid-off",) for entry in entries)
    return {entry.reference for entry in entries}


def test_two_writers_that_begin_the_log_together_both_keep_everything(tmp_path: Path) -> None:
    writers = [start(tmp_path, name, 25) for name in ("ash", "beck")]
    for writer in writers:
        _, errors = writer.communicate(timeout=120)
        assert (writer.returncode, errors) == (0, "")
    assert whole(tmp_path) == {f"{name}-{number}" for name in ("ash", "beck") for number in range(25)}


@pytest.mark.parametrize("after", [0.0, 0.02, 0.11])
def test_a_kill_while_writing_loses_nothing_that_was_told_as_written(tmp_path: Path, after: float) -> None:
    Log.open(tmp_path)
    writer = start(tmp_path, "ash", 100_000)
    assert writer.stdout is not None
    first = writer.stdout.readline()
    time.sleep(after)
    writer.send_signal(signal.SIGKILL)
    rest, _ = writer.communicate()
    told = [int(line) for line in (first + rest).split("\n") if line.strip()]
    kept = whole(tmp_path)
    assert {f"ash-{number}" for number in told} <= kept
    assert len(kept) <= len(told) + 1  # one more may be on the disk that was not told yet
    assert Log.open(tmp_path).add(Log.open(tmp_path).record().entries[0].model_copy(update={"reference": "next"}))


def test_a_disk_that_takes_no_more_is_told_in_one_line_and_the_log_stays_whole(tmp_path: Path) -> None:
    """The system's limit on a file's size stands in for a full disk: the write fails in the middle."""
    Log.open(tmp_path)
    limit = 400_000
    script = f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}))\n" + BIG_WRITER
    writer = start(tmp_path, "ash", 1000, script)
    out, errors = writer.communicate(timeout=120)
    told = {f"ash-{number}" for number in out.split()}
    assert writer.returncode == 1
    assert "nothing was changed" in errors.splitlines()[-1]
    assert "LogError" in errors.splitlines()[-1]
    assert 0 < len(told) < 1000
    assert told == whole(tmp_path)
