"""Roads of 200 places on a real extract: time beside the raw engine calls, from cache, and what a build takes.

    python -m tests.benchmarks.bench_roads [EXTRACT]

Without an argument it reads ../shared/data/liechtenstein.osm.pbf, where that is there. What came out is in
`bench_roads.md` beside this file.
"""

from __future__ import annotations

import json
import os
import platform
import random
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

from routing.farm.models import Place
from routing.travel.farm import farm_legs
from routing.travel.roads.build import Built, built
from routing.travel.roads.engine import Engine, _location
from routing.travel.roads.ground import read_ground
from routing.travel.roads.settings import driving
from routing.travel.roads.snap import Snap, Wanted
from routing.travel.roads.stopping import stopping_places
from tests.travel.roads.hand_map import ROADS, farm_on

PLACES = 200
RUNS = 3
DEFAULT = Path("../shared/data/liechtenstein.osm.pbf")


def main(extract: Path) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as cache:
        os.environ["XDG_CACHE_HOME"] = cache
        build_seconds, build = timed(lambda: built(extract, ROADS, ["van"]))
        builder = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        places = near_roads(build)
        sites = {f"s{number}": place for number, place in enumerate(places[1:])}
        farm = farm_on(extract, places[0], sites)
        raw, whole, cached = [], [], []
        for _ in range(RUNS):
            raw.append(timed(lambda: raw_calls(build, places))[0])
            for file in [*Path(cache).rglob("matrices/*.npz"), *Path(cache).rglob("stops/*.json")]:
                file.unlink()
            whole.append(timed(lambda: farm_legs(farm))[0])
            cached.append(timed(lambda: farm_legs(farm))[0])
    ours = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    lines = [
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}",
        f"pyvalhalla {version('pyvalhalla')}, osmium {version('osmium')}, load {os.getloadavg()[0]:.1f}",
    ]
    rows = (
        ("build, one sort of vehicle", f"{build_seconds:.1f} s"),
        ("stopping places and the raw engine matrix", f"{statistics.median(raw):.2f} s"),
        ("farm_legs, nothing kept", f"{statistics.median(whole):.2f} s"),
        ("  times the raw calls", f"{statistics.median(whole) / statistics.median(raw):.2f}"),
        ("farm_legs, matrix from cache", f"{1000 * statistics.median(cached):.0f} ms"),
        ("most memory: this program / tile builder", f"{ours:.0f} / {builder:.0f} MB"),
    )
    lines.extend(f"| {what} | {found} |" for what, found in rows)
    sys.stdout.write("\n".join(lines) + "\n")


def timed[Result](work: Callable[[], Result]) -> tuple[float, Result]:
    """Return the seconds that work takes, and its result."""
    begin = time.perf_counter()
    result = work()
    return time.perf_counter() - begin, result


def near_roads(build: Built) -> list[Place]:
    """Return places near roads inside the map's box, always the same."""
    chance, engine = random.Random(11), Engine(build.tiles("van"), ROADS)
    found: list[Place] = []
    while len(found) < PLACES:
        some = [
            Place(latitude=chance.uniform(build.south, build.north), longitude=chance.uniform(build.west, build.east))
            for _ in range(PLACES)
        ]
        snaps = stops(engine, build, some)
        found += [place for place, snap in zip(some, snaps, strict=True) if snap.road is not None]
    return found[:PLACES]


def stops(engine: Engine, build: Built, places: list[Place]) -> tuple[Snap, ...]:
    """Return where a van stops for each place, at most 300 m away."""
    return stopping_places(read_ground(build.ground), "van", [Wanted(place, 300.0) for place in places], engine.joined)


def raw_calls(build: Built, places: list[Place]) -> object:
    """Return the engine's own answers, asked as plainly as it can be."""
    engine = Engine(build.tiles("van"), ROADS)
    points = [_location(snap) for snap in stops(engine, build, places)]
    question = driving(ROADS) | {"sources": points, "targets": points, "verbose": False}
    return json.loads(engine._actor.matrix(json.dumps(question)))


if __name__ == "__main__":
    path = Path(sys.argv[1]) if len(sys.argv) > 1 else DEFAULT
    if not path.is_file():
        sys.exit(f"there is no {path}: name an extract")
    main(path)
