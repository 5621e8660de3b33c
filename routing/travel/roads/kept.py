"""The nearest roads and the matrix of a set of places, kept on disk under a key of all that they depend on."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.models import Drives, Place, RoadRules
from routing.travel.roads.build import Built, cache_folder
from routing.travel.roads.closure import Closed, closed
from routing.travel.roads.engine import Engine, Snap
from routing.travel.roads.settings import driving

Matrices = tuple[Closed, NDArray[np.int64]]
"""The quickest ways between places, and the metres of the engine's own drives, shape (n, n)."""


def matrix(engine: Engine, build: Built, drives: Drives, rules: RoadRules, snaps: Sequence[Snap]) -> Matrices:
    """Return the ways between snapped places, from disk where they were asked before.

    Only complete answers are kept. A kept file that is damaged is made anew. Raises RoadError where it cannot be kept.
    """
    spots = [(snap.road.latitude, snap.road.longitude, snap.cut_off) for snap in snaps if snap.road]
    path = _path("matrices", build.key, drives, driving(rules), spots)
    shape = (len(snaps), len(snaps))
    names = ("seconds", "metres", "first", "direct")
    kept = _read(path, dict.fromkeys(names, shape), np.int64)
    if kept is None:
        seconds, direct = engine.matrix(snaps)
        ways = closed(seconds, direct)
        kept = dict(zip(names, (ways.seconds, ways.metres, ways.first, direct), strict=True))
        _write(path, kept)
    return Closed(kept["seconds"], kept["metres"], kept["first"]), kept["direct"]


def snaps(
    engine: Engine, build: Built, drives: Drives, rules: RoadRules, asked: Sequence[tuple[Place, float]]
) -> tuple[Snap, ...]:
    """Return the nearest usable road of each place, given with the furthest it may be; from disk as `matrix` is."""
    spots = [(place.latitude, place.longitude, furthest) for place, furthest in asked]
    path = _path("snaps", build.key, drives, driving(rules), spots)
    kept = _read(path, {"snaps": (len(asked), 4)}, np.float64)
    if kept is None:
        found = engine.snaps([place for place, _ in asked], [furthest for _, furthest in asked])
        rows = [
            (snap.metres, snap.road.latitude, snap.road.longitude, snap.cut_off) if snap.road else (np.inf, 0, 0, 0)
            for snap in found
        ]
        _write(path, {"snaps": np.array(rows, dtype=np.float64).reshape(-1, 4)})
        return found
    return tuple(
        Snap(metres, Place(latitude=up, longitude=along) if np.isfinite(metres) else None, cut_off=bool(cut))
        for metres, up, along, cut in kept["snaps"].tolist()
    )


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


def _write(path: Path, found: Mapping[str, NDArray[np.generic]]) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".matrix-", delete=False) as file:
            np.savez(file, **found)  # type: ignore[arg-type]
        os.replace(file.name, path)  # noqa: PTH105 - a plain name, not a Path
    except OSError as error:
        raise RoadError(
            f"drive times cannot be kept in {quoted(str(path.parent))}: {error.strerror or error}; "
            "free some space or allow writing there"
        ) from error
