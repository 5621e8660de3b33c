"""Many random rounds, each held against the independent check: `python -m tests.benchmarks.rounds 2000`.

A third of the farms plan one day, a third two or three days in a row, and a third have vehicles that hold little, so that
crews come back to base to load again. Every broken promise, and everything left out that still fits, is told.
"""

from __future__ import annotations

import argparse
import datetime as dt
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

from routing.check import broken_promises, still_fits
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.travel.farm import farm_legs
from tests.random_farms import random_farm, with_tight_loads
from tests.split_jobs import split_jobs

FIRST = 100_000
"""The seeds of the tests lie below."""


@dataclass(frozen=True)
class Held:
    """One round held against the check."""

    seed: int
    wrong: tuple[str, ...]
    what: frozenset[str]
    """What was met in it."""
    seconds: float


def held(seed: int) -> Held:
    """Plan the farm of a seed and check the round; an exception is told as wrong."""
    begun = time.perf_counter()
    farm, date = random_farm(seed)
    farm = with_tight_loads(farm, seed) if seed % 3 == 0 else farm
    dates = tuple(date + dt.timedelta(days=day) for day in range(1 + (seed % 3 == 1) * (1 + seed % 2)))
    legs = farm_legs(farm)
    try:
        farm = split_jobs(farm, legs, dates)
        planned = plan_days(build_instance(farm, legs, dates), work=5)
        wrong = (*broken_promises(planned, farm, legs), *still_fits(planned, farm, legs))
    except Exception as error:  # noqa: BLE001 - whatever goes wrong is what is looked for
        return Held(seed, (repr(error),), frozenset(), time.perf_counter() - begun)
    stops = [stop for day in planned.itineraries for stop in day.stops]
    signs = {
        "several days": len(dates) > 1,
        "a visit": bool(stops),
        "left out": bool(planned.left_out),
        "a move of hives": any(stop.set_down for stop in stops),
        "a second load": any(stop.load_again for stop in stops),
        "a break": any(stop.rest for stop in stops),
        "proved best": planned.proof.optimal,
    }
    what = frozenset(sign for sign, met in signs.items() if met)
    return Held(seed, wrong, what, time.perf_counter() - begun)


def main() -> None:
    """Plan so many rounds on so many cores, and print what was met and what was wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int, nargs="?", default=2000)
    parser.add_argument("--cores", type=int, default=2)
    asked = parser.parse_args()
    met: Counter[str] = Counter()
    wrong, slowest = 0, 0.0
    with ProcessPoolExecutor(asked.cores) as pool:
        for one in pool.map(held, range(FIRST, FIRST + asked.count), chunksize=8):
            met.update(one.what)
            slowest = max(slowest, one.seconds)
            if one.wrong:
                wrong += 1
                print(f"seed {one.seed}: {one.wrong[0][:300]}", flush=True)
    print(f"{asked.count} rounds, {wrong} with something wrong; slowest {slowest:.1f} s")
    for sign, count in sorted(met.items()):
        print(f"  {sign}: {count}")


if __name__ == "__main__":
    main()
