"""Clearing the cache folder: what a killed build left, and builds whose map was replaced or that nobody uses any more.

A build that runs holds a lock on its folder, which the system drops when the program ends, however it ends.
"""

from __future__ import annotations

import os
import re
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from routing.travel.roads.cache import DamagedError

try:
    import fcntl
except ImportError:  # Windows has none: there only age tells a killed build
    fcntl = None  # type: ignore[assignment]

BUILDING, WRITING = ".build-", ".kept-"
"""How the names begin of what is being made."""

KEPT = "kept"
"""The folder of stopping places and matrices, in one folder for each build."""

_OLD_LAYOUTS = ("matrices", "stops", "snaps")
_BUILD = re.compile(r"[0-9a-f]{32}")
_LOCK = "lock"
_HOUR, _DAY = 3600.0, 86400.0
UNUSED_SECONDS = 90 * _DAY
"""A build that was not used for so long is cleared: a quarter of a year, so that a winter's pause costs one build."""

REPLACED_SECONDS = _HOUR
"""A build of a map that was replaced since is cleared when it was not used for so long: another run may still read."""


@dataclass(frozen=True)
class Source:
    """Which map a build is of."""

    path: str
    content: str
    """The digest of its bytes."""


SourceOf = Callable[[Path], Source | None]
"""Tells which map the build in a folder is of, None where there is none; raises DamagedError."""


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold the lock of a folder in which a build is made. Raises OSError."""
    with (folder / _LOCK).open("wb") as file:
        if fcntl is not None:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield


def used(file: Path) -> None:
    """Note that a build is used, by the time of one of its files; where that cannot be noted nothing is lost."""
    try:
        if time.time() - file.stat().st_mtime > _HOUR:
            os.utime(file)
    except OSError:
        return


def sweep(cache: Path, about: str, source_of: SourceOf, now: Source) -> None:
    """Clear what is left over. What cannot be cleared stays, and is tried again another time.

    `about` is the file of a build whose time tells when it was used, `now` the map as it is.
    """
    try:
        entries = list(os.scandir(cache))
    except OSError:
        return
    for entry in entries:
        path = Path(entry.path)
        if (entry.name.startswith(BUILDING) and _is_dead(path)) or entry.name in _OLD_LAYOUTS:
            _clear(path)
        elif _BUILD.fullmatch(entry.name) and _is_over(path, about, source_of, now):
            _clear(path)
            _clear(cache / KEPT / path.name)
    for path in [*cache.glob(f"{KEPT}/*"), *cache.glob(f"{KEPT}/*/{WRITING}*")]:
        half_written = path.name.startswith(WRITING)
        if (half_written or not (cache / path.name).exists()) and _age(path) > (_HOUR if half_written else _DAY):
            _clear(path)


def _is_over(folder: Path, about: str, source_of: SourceOf, now: Source) -> bool:
    age = _age(folder / about)
    try:
        source = source_of(folder)
    except DamagedError:
        source = None
    if source is None:
        return _age(folder) > _DAY
    replaced = source.path == now.path and source.content != now.content
    return age > (REPLACED_SECONDS if replaced else UNUSED_SECONDS)


def _is_dead(folder: Path) -> bool:
    """Return whether nobody makes this build any more."""
    try:
        with (folder / _LOCK).open("rb+") as file:
            if fcntl is None:
                return _age(folder) > _DAY
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return True
    except FileNotFoundError:
        return _age(folder) > _HOUR  # killed before it held its lock, or about to hold it
    except OSError:
        return False


def _age(path: Path) -> float:
    """Return the seconds since something was written, 0 where that is not known."""
    try:
        return time.time() - path.stat(follow_symlinks=False).st_mtime
    except OSError:
        return 0.0


def _clear(path: Path) -> None:
    try:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink()
    except OSError:
        return
