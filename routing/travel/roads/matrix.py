"""The whole matrix of a set of places, kept on disk under a key of all that it depends on."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.models import Drives, RoadRules
from routing.travel.roads.build import Built, cache_folder
from routing.travel.roads.engine import Engine, Snap
from routing.travel.roads.settings import driving

Matrices = tuple[NDArray[np.int64], NDArray[np.int64]]
"""Seconds and metres, each of shape (n, n)."""


def matrix(engine: Engine, build: Built, drives: Drives, rules: RoadRules, snaps: Sequence[Snap]) -> Matrices:
    """Return seconds and metres between snapped places, from disk where they were asked before.

    Only complete answers are kept. A kept file that is damaged is made anew. Raises RoadError where it cannot be kept.
    """
    spots = [(snap.road.latitude, snap.road.longitude, snap.cut_off) for snap in snaps if snap.road]
    asked = json.dumps((build.key, drives, driving(rules), spots))
    path = cache_folder() / "matrices" / f"{hashlib.sha256(asked.encode()).hexdigest()[:40]}.npz"
    kept = _read(path, len(snaps))
    if kept is not None:
        return kept
    found = engine.matrix(snaps)
    _write(path, found)
    return found


def _read(path: Path, n: int) -> Matrices | None:
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
            seconds, metres = kept["seconds"], kept["metres"]
    except (OSError, ValueError, KeyError, zipfile.BadZipFile, EOFError):
        return None
    whole = seconds.shape == metres.shape == (n, n) and seconds.dtype == metres.dtype == np.int64
    return (seconds, metres) if whole else None


def _write(path: Path, found: Matrices) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".matrix-", delete=False) as file:
            np.savez(file, seconds=found[0], metres=found[1])
        os.replace(file.name, path)  # noqa: PTH105 - a plain name, not a Path
    except OSError as error:
        raise RoadError(
            f"drive times cannot be kept in {quoted(str(path.parent))}: {error.strerror or error}; "
            "free some space or allow writing there"
        ) from error
