"""Writing beside the place: one writer at a time in a folder, and what earlier writers left is cleared away.

Everything on the way stands in hidden things named `.outyard-...` in the folder above the place, open to nobody else:

- `.outyard-part-...`: a file that is being written; it may always go.
- `.outyard-making-...`: a folder that is being made; what it holds of the farmer's are links and copies, so it may go.
- `.outyard-ready-...`: a finished folder, which changes places with the old one. Which of the two it holds tells the
  number of the folder (`st_ino`) in its `about.json`. The old one is taken apart: what the change replaced is removed
  by its hash, and what else is found, put into the folder that stands.
"""

from __future__ import annotations

import contextlib
import errno
import json
import math
import os
import re
import shutil
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from routing.output.ledger import digest

try:
    import fcntl
except ImportError:  # a system without it
    fcntl = None  # type: ignore[assignment]

PART, MAKING, READY = ".outyard-part-", ".outyard-making-", ".outyard-ready-"
WAIT_SECONDS = 10.0
OLD_SECONDS = 3600.0
"""Where a folder cannot be locked, what is younger may belong to a writer that is still at work, and is left."""

NEW, OLD, FACTS = "new", "old", "about.json"
EARLIER = re.compile(r"\.round-[a-z0-9_]{8}")
"""Folders that version 0.1 left in the round's own folder when it was killed; they hold copies only."""


@contextlib.contextmanager
def writing_in(folder: Path) -> Iterator[None]:
    """Let nobody else of this program write in a folder until the end of the block, and clear what others left there.

    Raises OSError where another one is at it for longer than ten seconds.
    """
    handle = _locked(folder)
    try:
        _clear(folder, math.inf if handle is not None else time.time() - OLD_SECONDS)
        yield
    finally:
        if handle is not None:
            os.close(handle)


def _locked(folder: Path) -> int | None:
    """Return an open handle that holds the folder's lock, None where it cannot be locked."""
    if fcntl is None:
        return None
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:
        return None
    until = time.monotonic() + WAIT_SECONDS
    while True:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            if time.monotonic() > until:
                os.close(handle)
                raise BlockingIOError(error.errno, "another outyard is writing there") from error
            time.sleep(0.02)
        except OSError:  # a file system without locks
            os.close(handle)
            return None
        else:
            return handle


def _clear(folder: Path, before: float) -> None:
    """Clear away what killed writers left in a folder, of those that were made before a time."""
    for entry in list(os.scandir(folder)):
        path = Path(entry.path)
        with contextlib.suppress(OSError):  # what cannot be cleared now is tried again by the next writer
            facts = entry.stat(follow_symlinks=False)
            if not entry.name.startswith(".outyard-") or facts.st_mtime > before or not _is_ours(facts):
                continue
            if entry.name.startswith(READY):
                recover(path)
            elif entry.name.startswith(MAKING):
                shutil.rmtree(path)
            elif entry.name.startswith(PART):
                path.unlink()


def _is_ours(facts: os.stat_result) -> bool:
    """Return whether something belongs to who runs this: in a folder that all may write to, others may put traps."""
    return not hasattr(os, "geteuid") or facts.st_uid == os.geteuid()


def clear_earlier(folder: Path) -> None:
    """Remove the hidden folders that an earlier version left inside a round's folder when it was killed."""
    for entry in list(os.scandir(folder)):
        if not EARLIER.fullmatch(entry.name) or not entry.is_dir(follow_symlinks=False):
            continue
        if {part.name for part in Path(entry.path).iterdir()} <= {NEW, OLD}:
            shutil.rmtree(entry.path, ignore_errors=True)


def recover(ready: Path) -> None:
    """Bring a change-over to its end, or take it back: the folder that stands is whole, and `ready` is gone.

    Raises OSError where something cannot be moved; it all stands still, then.
    """
    try:
        facts = json.loads((ready / FACTS).read_text(encoding="utf-8"))
        name, number, replaced = plain_name(facts["name"]), facts["number"], dict(facts["replaced"])
    except (ValueError, KeyError, TypeError) as error:
        raise OSError(f"{ready.name} cannot be understood") from error
    place, new, old = ready.parent / name, ready / NEW / name, ready / OLD / name
    if old.exists() and not place.exists():  # killed between two renames
        old.rename(place)
    for folder in (new, old):
        if folder.exists() and folder.stat().st_ino != number:
            place.mkdir(exist_ok=True)
            _take_apart(folder, place, replaced)
    spent = ready.rename(ready.parent / (MAKING + ready.name.removeprefix(READY)))  # from here on it may always go
    shutil.rmtree(spent)


def way_out(error: OSError) -> str:
    """Return what to do about a place that cannot be written to."""
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return "free some space"
    if error.errno == errno.EXDEV:
        return "remove the old folder yourself (this drive cannot move it)"
    return "close what has it open, see that you may write there,"


def plain_name(name: str) -> str:
    """Return the name where it is that of a file and leads nowhere else. Raises ValueError."""
    if not name or name in {".", ".."} or any(mark in name for mark in "/\\\0"):
        raise ValueError(f"{name!r} is not a plain file name")
    return name


def _take_apart(old: Path, place: Path, replaced: Mapping[str, Sequence[str]]) -> None:
    """Remove from an old folder what was replaced, and put what else is left, and is not in the new one, into that."""
    for entry in list(os.scandir(old)):
        path, standing = Path(entry.path), place / entry.name
        folder = entry.is_dir(follow_symlinks=False)
        if not folder and digest(path) in replaced.get(entry.name, ()):
            path.unlink()
        elif not os.path.lexists(standing):
            path.rename(standing)
        elif folder and standing.is_dir() and not standing.is_symlink():
            _take_apart(path, standing, {})
        elif not folder and alike(path, standing):
            path.unlink()
        else:  # the newer of the two keeps the name
            if path.lstat().st_mtime_ns > standing.lstat().st_mtime_ns:
                standing.rename(_free(standing))
            path.rename(standing if not os.path.lexists(standing) else _free(standing))
    old.rmdir()


def alike(one: Path, other: Path) -> bool:
    """Return whether two things that are no folders are one, or hold the same."""
    if os.path.samestat(one.lstat(), other.lstat()):
        return True
    if one.is_symlink() or other.is_symlink():
        return one.is_symlink() and other.is_symlink() and one.readlink() == other.readlink()
    return digest(one) == digest(other) != ""


def _free(path: Path) -> Path:
    """Return a free name beside a path, for the older of two of that name that differ."""
    number = 1
    while os.path.lexists(found := path.with_name(f"{path.stem} (before {number}){path.suffix}")):
        number += 1
    return found
