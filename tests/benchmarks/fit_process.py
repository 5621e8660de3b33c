"""Time whole processes as a user starts them; `python -m tests.benchmarks.fit_process` prints one table.

Farms of 20 sites are written to a folder of their own: days that all fit, days that do not, sites with hours of their own
and sites with several jobs. The first run of each farm is not counted (it fills the computer's caches).
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.run import machine
from tests.farm_of_twenty import write_farm

RUNS = 5


def timed(*words: str) -> tuple[float, int]:
    """Return the seconds that a whole process takes, and its exit code."""
    command = [str(Path(sys.executable).with_name("outyard")), *words]
    begun = time.monotonic()
    code = subprocess.run(command, capture_output=True, check=False).returncode
    return time.monotonic() - begun, code


def main() -> None:
    """Print one row a command: median and slowest of five runs."""
    print(f"Python {sys.version.split()[0]}; {machine()}; {time.strftime('%Y-%m-%d')}\n")
    print("| command | answer | median s | slowest s |\n| --- | --- | --- | --- |")
    row("--help")
    for seed, (hives, spread, jobs, hours) in enumerate(
        [
            (2, 0.03, 1, 0),
            (4, 0.03, 1, 0.3),
            (3, 0.06, 1, 0),
            (5, 0.1, 1, 0),
            (4, 0.1, 2, 0.3),
            (12, 0.15, 2, 0),
            (3, 0.05, 2, 0.5),
        ]
    ):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            write_farm(folder, seed, hives=hives, spread=spread, jobs=jobs, hours=hours)
            for date in ("2026-12-10", "2027-05-12"):
                row(
                    "fit",
                    str(folder),
                    "--on",
                    date,
                    told=f"fit: 20 sites of about {hives} hives, {20 * jobs} jobs, {date}",
                )


def row(*words: str, told: str = "") -> None:
    """Print the row of one command."""
    timed(*words)
    runs = [timed(*words) for _ in range(RUNS)]
    code = runs[0][1]
    answer = {0: "yes", 1: "no"}.get(code, str(code)) if words[0] == "fit" else ""
    seconds = [run[0] for run in runs]
    print(
        f"| {told or ' '.join(words)} | {answer} | {statistics.median(seconds):.2f} | {max(seconds):.2f} |", flush=True
    )


if __name__ == "__main__":
    main()
