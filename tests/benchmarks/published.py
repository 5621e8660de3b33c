"""Published instances read into plain arrays: Solomon's files with time windows, and the same as orienteering.

Distances are Euclidean and cut to one decimal, so every number is ten times the file's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

SCALE = 10


@dataclass(frozen=True, eq=False)
class Instance:
    """One instance in tenths; `windows` is when work starts and finishes, as `plan_arrays` has it."""

    name: str
    travel: NDArray[np.int64]
    work: NDArray[np.int64]
    windows: NDArray[np.int64]
    loads: NDArray[np.int64]
    scores: NDArray[np.int64]
    closing: int
    vehicles: int
    capacity: int


def solomon(path: Path) -> Instance:
    """Return one of Solomon's instances. Source: M. Solomon, Operations Research 35 (1987), from memory."""
    lines = [line.split() for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]
    vehicles, capacity = (int(value) for value in lines[3])
    rows = np.array([[float(v) for v in line] for line in lines if len(line) == 7 and line[0].isdigit()])
    return _instance(path.stem, rows[:, 1:3], rows[:, 6], rows[:, 4:6], rows[:, 3], rows[:, 3], vehicles, capacity)


def orienteering(path: Path) -> Instance:
    """Return one orienteering instance: columns are number, x, y, service, score, three others, opens, closes."""
    lines = [line.split() for line in path.read_text(encoding="utf-8").splitlines()[2:] if line.strip()]
    number, values = [int(line[0]) for line in lines], [[float(v) for v in line] for line in lines]
    assert number == list(range(len(number)))
    xy = np.array([row[1:3] for row in values])
    score = np.array([row[4] for row in values])
    windows = np.array([[0.0, row[-1]] if n == 0 else row[-2:] for n, row in enumerate(values)])
    return _instance(path.stem, xy, np.array([row[3] for row in values]), windows, np.zeros(len(xy)), score, 1, 0)


def _instance(
    name: str,
    xy: NDArray[np.float64],
    service: NDArray[np.float64],
    windows: NDArray[np.float64],
    loads: NDArray[np.float64],
    scores: NDArray[np.float64],
    vehicles: int,
    capacity: int,
) -> Instance:
    travel = np.array(
        [[math.floor(SCALE * math.dist(here, there) + 1e-9) for there in xy] for here in xy], dtype=np.int64
    )
    starts = np.round(SCALE * windows).astype(np.int64)
    work = np.round(SCALE * service).astype(np.int64)
    starts[1:, 1] += work[1:]
    return Instance(
        name,
        travel,
        work[1:],
        starts[1:],
        loads[1:].astype(np.int64),
        scores[1:].astype(np.int64),
        int(starts[0, 1]),
        vehicles,
        capacity,
    )
