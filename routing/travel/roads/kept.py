"""The stopping places and the matrix of a set of places, kept on disk under a key of all that they depend on."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import IO

import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.models import Drives, RoadRules
from routing.travel.roads.build import Built, cache_folder
from routing.travel.roads.closure import Closed, closed
from routing.travel.roads.engine import Engine
from routing.travel.roads.ground import read_ground
from routing.travel.roads.settings import driving
from routing.travel.roads.snap import Snap, Wanted
from routing.travel.roads.stopping import stopping_places

Matrices = tuple[Closed, NDArray[np.int64]]
"""The quickest ways between places, and the metres of the engine's own drives, shape (n, n)."""

_WANTED, _SNAPS = TypeAdapter(tuple[Wanted, ...]), TypeAdapter(tuple[Snap, ...])


def matrix(engine: Engine, build: Built, drives: Drives, rules: RoadRules, snaps: Sequence[Snap]) -> Matrices:
    """Return the ways between snapped places, from disk where they were asked before.

    Only complete answers are kept. A kept file that is damaged is made anew. Raises RoadError where it cannot be kept.
    """
    spots = [(snap.road.latitude, snap.road.longitude) for snap in snaps if snap.road]
    path = _path("matrices", build.key, drives, driving(rules), spots)
    shape = (len(snaps), len(snaps))
    names = ("seconds", "metres", "first", "direct")
    kept = _read(path, dict.fromkeys(names, shape), np.int64)
    if kept is None:
        seconds, direct = engine.matrix(snaps)
        ways = closed(seconds, direct)
        kept = dict(zip(names, (ways.seconds, ways.metres, ways.first, direct), strict=True))
        arrays = kept
        _keep(path, lambda file: np.savez(file, **arrays))  # type: ignore[arg-type]
    return Closed(kept["seconds"], kept["metres"], kept["first"]), kept["direct"]


def snaps(engine: Engine, build: Built, drives: Drives, wanted: Sequence[Wanted]) -> tuple[Snap, ...]:
    """Return where a vehicle stops for each place, the base first; from disk as `matrix` is."""
    path = _path("stops", build.key, drives, _WANTED.dump_python(tuple(wanted), mode="json"))
    path = path.with_suffix(".json")
    try:
        found = _SNAPS.validate_python(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError):
        found = ()
    if len(found) != len(wanted):
        found = stopping_places(read_ground(build.ground), drives, wanted, engine.joined)
        text = json.dumps(_SNAPS.dump_python(found))
        _keep(path, lambda file: file.write(text.encode()))
    return found


def _path(kind: str, *asked: object) -> Path:
    return cache_folder() / kind / f"{hashlib.sha256(json.dumps(asked).encode()).hexdigest()[:40]}.npz"


def _read[Number: np.generic](
    path: Path, shapes: Mapping[str, tuple[int, ...]], number: type[Number]
) -> dict[str, NDArray[Number]] | None:
    """Return the arrays of a kept file, None where it is not there or not whole."""
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
            found = {name: kept[name] for name in shapes}
    except (OSError, ValueError, KeyError, zipfile.BadZipFile, EOFError):
        return None
    whole = all(found[name].shape == shape and found[name].dtype == number for name, shape in shapes.items())
    return found if whole else None


def _keep(path: Path, write: Callable[[IO[bytes]], object]) -> None:
    """Write a file whole or not at all. Raises RoadError where it cannot be kept."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".kept-", delete=False) as file:
            write(file)
        os.replace(file.name, path)  # noqa: PTH105 - a plain name, not a Path
    except OSError as error:
        raise RoadError(
            f"drive times cannot be kept in {quoted(str(path.parent))}: {error.strerror or error}; "
            "free some space or allow writing there"
        ) from error
