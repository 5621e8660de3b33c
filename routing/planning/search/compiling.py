"""One side of what is compiled ahead: each part called for a day of one job, in a process of its own."""

from __future__ import annotations

import math
import os
import signal
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np

from routing.planning.bounds.column_generation import bounds
from routing.planning.exact.crew_day import get_ready
from routing.planning.exact.every_route import Cut, RouteEnumerator
from routing.planning.heuristics.ruin_recreate import RuinRecreate
from routing.planning.labelling.label_room import LabelRoom
from routing.planning.model.engine import Ask, Limit
from routing.planning.model.problem import LIMITLESS, Problem, Route, Task, Visit
from routing.planning.running import ahead
from routing.planning.running.budget import Budget

ROOM = 1000
"""Labels, of which a day of one job needs three."""


def _days(many: int) -> Problem:
    """Return so many days of one crew, with one job in all."""
    way = np.array([[0, 60], [60, 0]])
    route = Route(0, 3600, LIMITLESS, LIMITLESS, 0, 0, (60,), (True,), way, way)
    return Problem((), (Task(0, 0, 1),), (Visit(1, 0, 3600, (0,)),), (route,) * many)


def ruins() -> None:
    """Have ruin and recreate compiled."""
    RuinRecreate()(Ask(_days(2), frozenset({0}), Limit(1)))


def bounded() -> None:
    """Have the relaxed labels of the bounds compiled, and the table of what may still come."""
    bounds(_days(2), frozenset({0}), ((), ()), Budget(1))


def routes() -> None:
    """Have the enumeration of every route compiled."""
    RouteEnumerator(_days(1), 0, frozenset({0})).every(
        [Cut({0: 1.0}, 0.0, [-math.inf])], ROOM, LabelRoom(ROOM), least_cost=True
    )


PARTS: dict[str, Callable[[], object]] = {"ruins": ruins, "bounds": bounded, "day": get_ready, "routes": routes}


def _listen() -> None:
    os.read(0, 1)  # nothing is written: it returns when whoever began this process is gone
    os._exit(0)


def compile_side(folder: Path, side: int) -> None:
    """Compile one side's parts, say each, and note the side in the folder."""
    with ahead.alone(folder, side):
        for part in ahead.SIDES[side]:
            PARTS[part]()
            sys.stdout.write(f"{part}\n")
            sys.stdout.flush()


def main() -> None:
    """Compile the side that is asked for, for as long as whoever began this process is there."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who began this process hears it, and ends this one
    threading.Thread(target=_listen, daemon=True).start()
    compile_side(Path(sys.argv[1]), int(sys.argv[2]))


if __name__ == "__main__":
    main()
