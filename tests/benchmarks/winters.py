"""Thousands of invented colonies through winters in which the farm does what it is told; by hand.

    python -m tests.benchmarks.winters [FARMS] [SEED]

prints the rows of winters.md. What is true of the colonies, and from where: tests/season/winters.py.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.season.winters import Tally, Winter, winters

LEVEL = "[due.winter-feed]\nstores_below_kg = {0}\nnow_below_kg = 5\n[due.late-summer-feed]\nstores_below_kg = {0}\n"
RUNS = {
    "hefted every fortnight": {},
    "the same, 3 degrees warmer, not told": {"warmer_c": 3.0},
    "the same, 3 degrees warmer, told": {"warmer_c": 3.0, "told_warmer": True},
    "hefted every four weeks": {"heft_days": 28},
    "hefted on 1 September only": {"heft_days": None},
    "hefted on 1 September only, 3 degrees warmer, not told": {"heft_days": None, "warmer_c": 3.0},
    "first hefted on 1 October, then every fortnight": {"autumn_heft": False},
    "colonies differ by 4 kg": {"spread_kg": 4.0},
    "a longer tail of colonies that use much": {"long_tail": True},
    "hefts off by 2 kg": {"heft_kg": 2.0},
    "four sites": {"sites": 4},
    "light hives given more": {"light_more": True},
    "light hives given more, a winter's level of 8 kg": {"light_more": True, "more": LEVEL.format(8)},
    "light hives given more, a winter's level of 5 kg": {"light_more": True, "more": LEVEL.format(5)},
    "all given alike, a winter's level of 8 kg": {"more": LEVEL.format(8)},
    "light hives given more, a level of 8 kg, 3 degrees warmer, not told": {
        "light_more": True,
        "warmer_c": 3.0,
        "more": LEVEL.format(8),
    },
}


def row(name: str, found: Tally) -> str:
    """Return one row of the table."""
    return (
        f"| {name} | {found.colonies} | {found.starved_share:.2%} | {found.hit_share:.1%} | {found.below_share:.1%} | "
        f"{found.below_told_share:.1%} | {found.feeds / found.sites:.1f} | {len(found.windows)} | "
        f"{found.enough_share:.0%} | {found.covered_share:.0%} | {found.unused} |"
    )


def main() -> None:
    """Print one row a run."""
    farms, seed = (int(word) for word in (*sys.argv[1:3], *("20", "1")[len(sys.argv) - 1 :]))
    only = sys.argv[3:]
    for number, (name, facts) in enumerate(RUNS.items()):
        if only and str(number) not in only:
            continue
        with tempfile.TemporaryDirectory() as folder:
            found = winters(Winter(farms=farms, **facts), Path(folder), seed)  # type: ignore[arg-type]
        print(row(name, found), flush=True)  # noqa: T201 -- a table for the reader


if __name__ == "__main__":
    main()
