"""What is compiled at its first call, compiled by other processes while this one still reads and draws up the day.

Each process compiles its parts in turn and says so; whoever is about to call a part waits for that word, and then reads
what was kept (`compiled.py`). Where a process fails, or none was begun, the part is compiled here, as ever.
"""

from __future__ import annotations

import hashlib
import os
import sys
import threading
from atexit import register
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path

from routing.planning.running.this_program import Begun, begun

try:
    import fcntl
except ImportError:  # not on this system
    fcntl = None  # type: ignore[assignment]

BOUNDS, DAY, ROUTES, RUINS, ANNEALING = "bounds", "day", "routes", "ruins", "annealing"
"""Relaxed labels, the best route of a day, every route of a day, ruin and recreate, annealing of one route."""

ALL = ((BOUNDS, ROUTES, ANNEALING), (DAY, RUINS))
"""All parts, by the process that compiles them in this order."""

COMPILING = "routing.planning.search.compiling"
"""The module that is run for each."""


@dataclass(eq=False)
class _Side:
    """One process, which of its parts are still to come, and who began it: what is forked off does not wait."""

    child: Begun
    parts: list[str]
    begun_by: int


_sides: list[_Side] = []
_waiting = threading.Lock()


def begin(folder: Path, sides: Sequence[Sequence[str]] = ALL) -> None:
    """Begin to compile what is not known to be compiled: what is known stands in the folder. Nothing is waited for.

    Each of the `sides` is a process and its parts in order. With one processor there is nobody beside to do it.
    """
    if _sides or (os.cpu_count() or 1) == 1:
        return
    key = _key()
    wanted = [[part for part in side if not _mark(folder, key, part).exists()] for side in sides]
    with suppress(OSError):  # no process can be begun: each part is compiled here
        _sides.extend(_begun(folder, parts) for parts in wanted if parts)
    if _sides:
        register(end)


def _begun(folder: Path, parts: list[str]) -> _Side:
    """Return the process of one side. Raises OSError where none can be begun."""
    return _Side(begun(COMPILING, str(folder), *parts), parts, os.getpid())


def end() -> None:
    """End what is still being compiled beside."""
    for side in _sides:
        side.child.process.kill()
        with side.child.process:  # waits for its end and closes the pipes
            pass
    _sides.clear()


def under_way() -> bool:
    """Return whether something is still being compiled beside that was not waited for yet."""
    return any(side.parts and side.child.process.poll() is None for side in _sides)


def wait_for(part: str) -> None:
    """Return once nobody compiles the part beside any more."""
    with _waiting:
        for side in _sides:
            while part in side.parts and side.begun_by == os.getpid():
                said = side.child.says.readline().decode().strip()
                side.parts = [each for each in side.parts if said and each != said]


@cache
def _key() -> str:
    """Return what is the same for as long as what was compiled is still right."""
    here = Path(__file__).parents[1]
    files = sorted((str(path), path.stat().st_mtime_ns, path.stat().st_size) for path in here.rglob("*.py"))
    made_of = (sys.version, version("numba"), version("numpy"), os.environ.get("NUMBA_CACHE_DIR"), files)
    return hashlib.sha256(repr(made_of).encode()).hexdigest()[:16]


def _mark(folder: Path, key: str, part: str) -> Path:
    return folder / f"{key}-{part}"


@contextmanager
def alone(folder: Path, part: str) -> Iterator[None]:
    """Compile a part while no other process does; at the end it is noted in the folder."""
    mark = _mark(folder, _key(), part)
    with ExitStack() as held:
        with suppress(OSError):  # nowhere to note it: it is compiled twice at the worst, and looked at again
            folder.mkdir(parents=True, exist_ok=True)
            lock = held.enter_context(mark.with_suffix(".lock").open("wb"))
            if fcntl is not None:
                fcntl.flock(lock, fcntl.LOCK_EX)
        yield
        with suppress(OSError):
            mark.touch()
