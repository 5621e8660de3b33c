"""Looks for inputs that end in a traceback: `python -m tests.fuzz.run --what farm --seconds 3600 --seed 1`.

Every finding is made as small as it can be and kept in `tests/fuzz/seeds/`, where the tests read it again. Exit code 0:
nothing was found; 1: something was.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tests.fuzz import engine

if TYPE_CHECKING:
    from tests.fuzz.inputs import Files
    from tests.fuzz.target import Target

NAMES = ("farm", "book", "weather", "records", "table", "log", "report", "round", "map", "options")
TELL_EVERY_SECONDS = 60


class Hunt:
    """Runs inputs of one target, counts them, and keeps what it finds."""

    def __init__(self, target: Target, seconds: float, keep_in: Path) -> None:
        self.target, self.keep_in = target, keep_in
        self.inputs, self.found = 0, dict[str, Path]()
        self.begun = time.monotonic()
        self._end, self._told = self.begun + seconds, self.begun

    def hear(self, files: Files) -> bool:
        """Run one input, keep it where it finds something new, and return whether there is time for more."""
        from tests.fuzz.outcome import finding_of  # noqa: PLC0415 - after the engine watches imports

        self.inputs += 1
        finding = finding_of(self.target.run, files)
        if finding is not None and finding.name not in self.found:
            self.found[finding.name] = self._kept(files, finding.name)
            print(f"{self.target.name}: {finding.told[:200]!r}\n  kept as {self.found[finding.name]}", flush=True)
        if time.monotonic() > self._told + TELL_EVERY_SECONDS:
            self._told = time.monotonic()
            print(self.summary(), flush=True)
        return time.monotonic() < self._end

    def _kept(self, files: Files, name: str) -> Path:
        from tests.fuzz.inputs import packed  # noqa: PLC0415
        from tests.fuzz.outcome import finding_of  # noqa: PLC0415
        from tests.fuzz.shrink import shrunk  # noqa: PLC0415

        def still(less: Files) -> bool:
            found = finding_of(self.target.run, less)
            return found is not None and found.name == name

        folder = self.keep_in / self.target.name
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{name}.txt"
        begun = time.monotonic()
        path.write_bytes(packed(shrunk(files, still) if still(files) else files))
        self._end += time.monotonic() - begun  # making it small is not looking for more
        return path

    def summary(self) -> str:
        """Return how many inputs ran in what time, and what they found."""
        return (
            f"{self.target.name}: {self.inputs} inputs in {time.monotonic() - self.begun:.0f} s, "
            f"{'guided' if engine.guided() else 'by chance'}, {len(self.found)} findings"
        )


def hunted(name: str, seconds: float, seed: int, keep_in: Path) -> int:
    """Run one target in this process; return the exit code, or end the process with it."""
    if engine.guided():
        engine.watch()
    from tests.fuzz.targets import target_of  # noqa: PLC0415 - after the engine watches imports

    hunt = Hunt(target_of(name), seconds, keep_in)

    def end() -> int:
        print(hunt.summary(), flush=True)
        return 1 if hunt.found else 0

    if engine.guided():
        engine.run_guided(hunt.target, seed, hunt.hear, end)
    else:
        engine.run_by_chance(hunt.target, seed, hunt.hear)
    return end()


def main(words: Sequence[str] | None = None) -> int:
    """Run what is asked for: one target here, or all of them one after the other, each in a process of its own."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.fuzz.run", description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--what", choices=(*NAMES, "all"), default="all", help="what to look at; all share the time")
    parser.add_argument("--seconds", type=float, default=3600.0, help="how long to look (3600)")
    parser.add_argument("--seed", type=int, default=1, help="where chance begins (1)")
    parser.add_argument("--keep-in", type=Path, default=engine.seeds_folder(), help="where findings are kept")
    asked = parser.parse_args(words)
    if asked.what != "all":
        return hunted(asked.what, asked.seconds, asked.seed, asked.keep_in)
    codes = []
    for name in NAMES:
        own = ["--what", name, "--seconds", str(asked.seconds / len(NAMES)), "--seed", str(asked.seed)]
        run = [sys.executable, "-m", "tests.fuzz.run", *own, "--keep-in", str(asked.keep_in)]
        codes.append(subprocess.run(run, check=False).returncode)
    return max(codes)


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(10)  # whoever else uses the computer goes first
    sys.exit(main())
