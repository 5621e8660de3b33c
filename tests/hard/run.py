"""Run by hand: what is false on many hard farms, a line each.

`python -m tests.hard.run --seed 0 --count 1000 --jobs 2` plans so many farms from a seed on; `--easy` takes easy ones;
`--folder FOLDER DATE...` judges one folder; `--keep FOLDER` writes each farm that has a complaint there; `--soft` tells also
what is true as it is read or excepted by the footnote, yet worth a look.
"""

from __future__ import annotations

import argparse
import datetime as dt
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from routing.farm.folder import read_farm
from tests.hard.complaint import Complaint
from tests.hard.judge import judge_farm, judge_seed, write_farm


def main() -> int:
    """Judge the farms that were asked for; return 1 where something is false."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--easy", action="store_true")
    parser.add_argument("--soft", action="store_true")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--folder", nargs="+")
    asked = parser.parse_args()
    if asked.folder:
        dates = [dt.date.fromisoformat(date) for date in asked.folder[1:]]
        found = judge_farm(read_farm(Path(asked.folder[0])), dates)
        for complaint in found:
            _say(str(complaint))
        return bool(found)
    begun = time.monotonic()
    seeds = range(asked.seed, asked.seed + asked.count)
    counts: Counter[str] = Counter()
    first: dict[str, int] = {}
    judged = partial(judge_seed, easy=asked.easy)
    with ProcessPoolExecutor(asked.jobs) as pool:
        for seed, found in zip(seeds, pool.map(judged, seeds), strict=True):
            complaints = [one for one in found if asked.soft or not one.soft]
            _tell(seed, complaints)
            for complaint in complaints:
                counts[complaint.sort] += 1
                first.setdefault(complaint.sort, seed)
            if complaints and asked.keep:
                write_farm(asked.keep / f"{seed}", seed, easy=asked.easy)
    _say(f"{asked.count} farms in {time.monotonic() - begun:.0f} s")
    for sort, count in counts.most_common():
        _say(f"{count:6} {sort} (first: {first[sort]})")
    return bool(counts)


def _tell(seed: int, complaints: list[Complaint]) -> None:
    for complaint in complaints:
        _say(f"{seed} {complaint}")


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
