"""The stopping places and the matrix of a set of places, kept on disk under a key of all that they depend on."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import IO, BinaryIO

import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter

from routing.farm.faults import quoted
from routing.farm.models import Drives, RoadRules
from routing.farm.on_disk import is_folder, is_link
from routing.travel.roads.build import Built
from routing.travel.roads.cache import DamagedError, cache_folder, not_kept, read_kept, tell_damage, write_kept
from routing.travel.roads.closure import Closed, closed
from routing.travel.roads.engine import Engine
from routing.travel.roads.ground import read_ground
from routing.travel.roads.settings import driving
from routing.travel.roads.snap import Snap, Wanted
from routing.travel.roads.stopping import stopping_places
from routing.travel.roads.sweep import KEPT

Matrices = tuple[Closed, NDArray[np.int64]]
"""The quickest ways between places, and the metres of the engine's own drives, shape (n, n)."""

_NAMES = ("seconds", "metres", "first", "direct")
_WANTED, _SNAPS = TypeAdapter(tuple[Wanted, ...]), TypeAdapter(tuple[Snap, ...])


def matrix(engine: Engine, build: Built, drives: Drives, rules: RoadRules, snaps: Sequence[Snap]) -> Matrices:
    """Return the ways between snapped places, from disk where they were asked before.

    Only complete answers are kept. A kept file that is damaged is made anew, and said. Raises RoadError where it cannot
    be kept.
    """
    spots = [(snap.road.latitude, snap.road.longitude) for snap in snaps if snap.road]
    purpose = _purpose("matrix", build.key, drives, driving(rules), spots)
    found = _kept(build, purpose, _arrays)
    if found is None:
        seconds, direct = engine.matrix(snaps)
        ways = closed(seconds, direct)
        found = dict(zip(_NAMES, (ways.seconds, ways.metres, ways.first, direct), strict=True))
        arrays = found
        _keep(build, purpose, lambda file: np.savez(file, **arrays))  # type: ignore[arg-type]
    return Closed(found["seconds"], found["metres"], found["first"]), found["direct"]


def snaps(engine: Engine, build: Built, drives: Drives, wanted: Sequence[Wanted]) -> tuple[Snap, ...]:
    """Return where a vehicle stops for each place, the base first; from disk as `matrix` is."""
    purpose = _purpose("stops", build.key, drives, _WANTED.dump_python(tuple(wanted), mode="json"))
    found = _kept(build, purpose, lambda file: _SNAPS.validate_python(json.load(file)))
    if found is None:
        found = stopping_places(read_ground(build.ground), drives, wanted, engine.joined)
        text = json.dumps(_SNAPS.dump_python(found))
        _keep(build, purpose, lambda file: file.write(text.encode()))
    return found


def _purpose(kind: str, *asked: object) -> str:
    """Return a name for what is kept, out of all that it depends on."""
    return f"{kind}-{hashlib.sha256(json.dumps(asked).encode()).hexdigest()[:40]}"


def _arrays(file: BinaryIO) -> dict[str, NDArray[np.int64]]:
    with np.load(file, allow_pickle=False) as kept:
        return {name: kept[name] for name in _NAMES}


def _kept[Value](build: Built, purpose: str, read: Callable[[BinaryIO], Value]) -> Value | None:
    """Return what was kept, None where nothing whole was."""
    try:
        return read_kept(_path(build, purpose), purpose, read)
    except DamagedError:
        tell_damage(f"a file of drive times of road map {quoted(build.map)}")
        return None


def _keep(build: Built, purpose: str, write: Callable[[IO[bytes]], object]) -> None:
    """Write a file whole or not at all. Raises RoadError where it cannot be kept."""
    path = _path(build, purpose)
    try:
        _clear_way(path)
        write_kept(path, purpose, write)
    except OSError as error:
        raise not_kept("drive times cannot be kept", path.parent, error) from error


def _clear_way(path: Path) -> None:
    """Remove what stands where a kept file or its folders should be and is none. Raises OSError."""
    for folder in (path.parent.parent, path.parent):
        if os.path.lexists(folder) and not is_folder(folder):
            tell_damage("the folder of drive times")
            folder.unlink()
    if is_folder(path) and not is_link(path):
        shutil.rmtree(path)


def _path(build: Built, purpose: str) -> Path:
    return cache_folder() / KEPT / build.key / purpose
