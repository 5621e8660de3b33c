"""Compiles some parts for the types that they are called with; a process of its own (`running/compiled_ahead.py`)."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any, cast

from numba import types

from routing.planning.bounds.ng_labels import completion_bounds, completion_bounds_unrested, moves, ng_routes
from routing.planning.exact.elementary_labels import best_route
from routing.planning.exact.enumeration import every_route
from routing.planning.heuristics import route_annealing_kernel as annealing
from routing.planning.heuristics.ruin_recreate_kernel import cost_of, search
from routing.planning.heuristics.ruin_segments import update_segments
from routing.planning.running import compiled_ahead

SIGNATURES = {
    moves: "i2 i1 i2",
    completion_bounds: "i2 i2 f2 i1 i1 i1 f1 s3 i0",
    completion_bounds_unrested: "i2 i2 f2 i1 i1 s3 i0 i0 f3",
    ng_routes: "i2 i2 f2 i2 u2 u1 f1 i2 f3 i1 f0 i2 f2 u2 i1 f1",
    best_route: "i3 i2 i1 i2 i2 i2 i2 f3 f5 f1 i1 i2 f2 u2",
    every_route: "i3 i2 i1 i2 i2 i2 i2 f3 f5 f1 i2 f2 u2 u2 i2",
    search: "i3 i2 i2 i2 i2 i2 i1 i1 i3 i1 u1 i2 i1 i2 i1 f1",
    annealing.search: "i3 i2 i2 i2 i2 i1 i3 i2 i2 i2 i1 f1 i2 u1 i2 i1 i1 i1 f1",
    annealing.rest_before: "i3 i0 i0",
    annealing.rest_in_time: "i2 i1 i3 i0 i0",
    cost_of: "i2 i1 i1",
    update_segments: "i3 i2 i2 i2 i1 i3 i0",
}
"""What each is called with: the kind of number, and of how many dimensions (whole rows one after the other).

Other types would be compiled where they are first met; a test holds that there are none.
"""

_NUMBERS = (types.int64, types.int16, types.uint64, types.float64, types.boolean)
NUMBERS: dict[str, Any] = dict(zip("isufb", _NUMBERS, strict=True))

PARTS = {
    compiled_ahead.BOUNDS: (moves, completion_bounds, completion_bounds_unrested, ng_routes),
    compiled_ahead.DAY: (best_route,),
    compiled_ahead.ROUTES: (every_route,),
    compiled_ahead.RUINS: (search, cost_of, update_segments),
    compiled_ahead.ANNEALING: (annealing.search, annealing.rest_before, annealing.rest_in_time),
}


def _type(code: str) -> object:
    """Return numba's type of a code."""
    number, dimensions = NUMBERS[code[0]], int(code[1])
    return types.Array(number, dimensions, "C") if dimensions else number


def compile_parts(folder: Path, parts: Sequence[str]) -> None:
    """Compile the parts in turn, say each, and note it in the folder."""
    for part in parts:
        with compiled_ahead.alone(folder, part):
            for function in PARTS[part]:
                cast("Any", function).compile(tuple(map(_type, SIGNATURES[function].split())))
        sys.stdout.write(f"{part}\n")
        sys.stdout.flush()


def _listen() -> None:
    os.read(0, 1)  # nothing is written: it returns when whoever began this process is gone
    os._exit(0)


def main() -> None:
    """Compile the parts that are asked for, for as long as whoever began this process is there."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who began this process hears it, and ends this one
    threading.Thread(target=_listen, daemon=True).start()
    compile_parts(Path(sys.argv[1]), sys.argv[2:])


if __name__ == "__main__":
    main()
