"""Measure how long a farm of 5,000 sites takes to be read; `python -m tests.benchmarks.sheets` prints one table.

The same table as CSV, as XLSX and as OpenDocument, each read in this process with a cold start first; times are those
of the processor, because others share the machine.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from routing.farm.folder import read_farm
from tests.benchmarks.run import machine
from tests.farm.books import by_openpyxl
from tests.farm.conftest import FARM_TOML
from tests.farm.test_ods import content, row, text
from tests.farm.zipped import ods_bytes

ROWS = 5_000
HEADER = ("id", "name", "place", "hives", "hours", "last_of_day", "notes")


def main() -> None:
    """Print the machine and a row for each form."""
    sys.stdout.write(f"{machine()}\n")
    sys.stdout.write("| form | processor seconds for 5,000 sites |\n| --- | --- |\n")
    for name in ("sites.csv", "sites.xlsx", "sites.ods"):
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / "farm.toml").write_text(FARM_TOML)
            _write(Path(folder) / name)
            times = [_seconds(Path(folder)) for _ in range(3)]
        sys.stdout.write(f"| {name} | {' '.join(f'{seconds:.2f}' for seconds in times)} |\n")


def _write(path: Path) -> None:
    rows = [
        (f"s{n}", "Name", f"{50 + n / 1000:.3f}, {-2 + n % 7}", "5", "08:00-16:00", "no", "note") for n in range(ROWS)
    ]
    if path.suffix == ".csv":
        path.write_text("\n".join(";".join(cells) for cells in (HEADER, *rows)))
    elif path.suffix == ".xlsx":
        by_openpyxl(path, {"Sites": [HEADER, *rows]})
    else:
        path.write_bytes(ods_bytes(content("".join(row(*map(text, cells)) for cells in (HEADER, *rows)))))


def _seconds(folder: Path) -> float:
    begun = time.process_time()
    if len(read_farm(folder).sites) != ROWS:
        raise ValueError("some rows were not read")
    return time.process_time() - begun


if __name__ == "__main__":
    main()
